"""The countdown of a repeat (safety rule R13): audible, three seconds, and over with any key."""

import asyncio

import pytest

from commission.terminal.countdown import Countdown
from tests.virtual_time import run_virtual


class Said:
    """What was shown, and what of it was heard."""

    def __init__(self) -> None:
        self.words: list[str] = []
        self.beeps = 0

    def __call__(self, words: str, *, aloud: bool = False) -> None:
        """Keep it."""
        self.words.append(words)
        self.beeps += aloud


async def _counted(cancelled_after_s: float | None) -> tuple[Said, list[str], bool]:
    said, done = Said(), list[str]()
    countdown = Countdown(said)
    countdown.begin(lambda: done.append("moves"))
    assert countdown.runs
    await asyncio.sleep(5.0 if cancelled_after_s is None else cancelled_after_s)
    if cancelled_after_s is not None:
        countdown.cancel()
        await asyncio.sleep(5.0)
    return said, done, countdown.runs


def test_r13_three_seconds_are_counted_aloud_and_then_it_moves() -> None:
    """Each second is shown and heard; then it is done, once."""
    said, done, runs = run_virtual(_counted(None))
    assert said.words == [*(f"MOVES IN {second} s. Any key cancels." for second in (3, 2, 1)), ""]
    assert said.beeps == 3
    assert done == ["moves"]
    assert not runs


@pytest.mark.parametrize("after_s", [0.0, 0.5, 1.5, 2.9])
def test_r13_whenever_it_is_cancelled_nothing_is_done(after_s: float) -> None:
    """Up to its last moment, and it says so."""
    said, done, runs = run_virtual(_counted(after_s))
    assert done == []
    assert said.words[-1] == "Cancelled. Nothing was sent."
    assert not runs


def test_cancelling_nothing_says_nothing() -> None:
    """Before a countdown and after one."""
    said = Said()
    Countdown(said).cancel()
    assert said.words == []
