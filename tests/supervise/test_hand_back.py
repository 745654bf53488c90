"""After a hold the source is handed back once, and believed only when it is read back."""

import asyncio
from typing import Any

import pytest

from commission.clock import Clock
from commission.link.faults import WriteRefused
from commission.procedures.requests import CommandValue, HandBack
from commission.sample import Outcome, Written
from commission.sheet.decode import Reading, Readings
from commission.supervise.hand_back import SEEN_WITHIN_S, hand_back
from commission.supervise.safe_end import SafeEndReport, SafeEndSeen
from tests.virtual_time import run_virtual, virtual_clock

BACK = HandBack(CommandValue("command_follow_loop"), "follows_link", seen_as=False)
HELD = SafeEndReport(SafeEndSeen.CONFIRMED, "the stop is seen received")


class Unit:
    """Takes the command, or not."""

    def __init__(self, clock: Clock, outcome: Outcome) -> None:
        self.clock, self.outcome = clock, outcome
        self.commands: list[str] = []

    async def command(self, role: str, _value: int) -> Written:
        """Once."""
        self.commands.append(role)
        if self.outcome is Outcome.REFUSED:
            raise WriteRefused("leave has run out")
        return Written(self.clock.unit_ns(), 0, self.outcome)


class Samples:
    """Shows the source so many samples later."""

    def __init__(self, after: int) -> None:
        self.left = after

    async def next(self, *, wait_s: float) -> Readings:
        """The next one."""
        await asyncio.sleep(wait_s)
        self.left -= 1
        return Readings(1, 1, {"follows_link": Reading(float(self.left >= 0), 1, 0)})


class Trail:
    """What was sent is kept."""

    def __init__(self) -> None:
        self.kept: list[tuple[Any, ...]] = []

    def sent(self, *sent: object) -> None:
        """Keep it."""
        self.kept.append(sent)


@pytest.mark.parametrize(
    ("outcome", "after", "seen", "words"),
    [
        (Outcome.ANSWERED, 2, SafeEndSeen.CONFIRMED, "handed back, and read back so"),
        (Outcome.UNANSWERED, 2, SafeEndSeen.CONFIRMED, "handed back, and read back so"),
        (Outcome.ANSWERED, 1000, SafeEndSeen.UNCONFIRMED, "NOT seen handed back"),
        (Outcome.REFUSED, 1000, SafeEndSeen.UNCONFIRMED, "leave has run out"),
    ],
)
def test_r14_it_is_believed_when_it_is_read_back(outcome: Outcome, after: int, seen: SafeEndSeen, words: str) -> None:
    """An answer alone is nothing; what was sent stands in the record; it is sent once."""

    async def main() -> None:
        clock = virtual_clock()
        unit, trail = Unit(clock, outcome), Trail()
        begun_s = clock.unit_ns() / 1e9
        report = await hand_back(BACK, unit, Samples(after), trail, HELD)  # type: ignore[arg-type]  # what it needs of them
        assert (report.seen, words in report.reason) == (seen, True), report
        assert HELD.reason in report.reason
        assert unit.commands == ["command_follow_loop"]
        assert len(trail.kept) == 1
        assert clock.unit_ns() / 1e9 - begun_s <= SEEN_WITHIN_S + 1

    run_virtual(main())
