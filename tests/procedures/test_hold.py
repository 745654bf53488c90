"""G9 and M5 played against a valve that is left to itself."""

import pytest

from commission.analysis.hold_watch import HoldEnd, HoldObserved
from commission.procedures.catalogue import CATALOGUE
from commission.procedures.hold import hold, hold_limits, hold_s
from commission.procedures.requests import Begin
from tests.procedures.held_valve import HeldValve
from tests.procedures.played import play
from tests.sheet.xv import xv_1101

ARGUMENTS = {
    "test": "G9 2", "minutes": "10", "most_restarts": "1", "most_turns": "3", "most_change_pct": "1",
    "origin": "practice",
}  # fmt: skip


def left(valve: HeldValve, arguments: dict[str, str] = ARGUMENTS) -> tuple[HoldObserved, Begin]:
    """Play a whole watch."""
    observed, begun = play(hold(xv_1101(), arguments), valve)
    assert isinstance(observed, HoldObserved)
    return observed, begun


def verdict(observed: HoldObserved, arguments: dict[str, str] = ARGUMENTS) -> tuple[str, str]:
    """What the catalogue makes of it: the figure that decides, and the verdict."""
    test, sheet = CATALOGUE["hold"], xv_1101()
    judged = test.judge(test.figures(observed, sheet), sheet, arguments)
    assert judged is not None
    return judged.figure.name, judged.decision.verdict


def standing() -> HeldValve:
    """A valve that stays open."""
    valve = HeldValve()
    valve.people = lambda _at_s: 0.995
    return valve


def test_nothing_is_commanded_and_the_whole_time_is_watched() -> None:
    """Ten minutes, no command, nothing that an end would have to take back."""
    observed, begun = left(standing())
    assert observed.ended is HoldEnd.DONE
    assert (begun.commands, begun.safe_command, begun.guards) == ((), None, {})
    assert {"travel", "oil_temperature", "starts_total", "motor_running"} <= set(begun.roles)
    assert observed.seen[-1].at_ns - observed.seen[0].at_ns >= 600e9
    assert verdict(observed)[1] == "pass"


def test_what_is_seen_meanwhile_is_said_once_and_ends_nothing() -> None:
    """After two minutes somebody types; it is watched to its end all the same."""
    valve = standing()
    valve.interrupts, valve.interrupts_from_s = {"meanwhile": 2}, 120.0
    observed, _ = left(valve)
    assert observed.ended is HoldEnd.DONE
    assert valve.interrupts == {"meanwhile": 1}
    assert observed.seen[-1].at_ns - observed.seen[0].at_ns >= 600e9


def test_a_valve_that_leaves_ends_the_watch_and_fails() -> None:
    """It closes by itself after a minute: seen at once, and said aloud."""
    valve = standing()
    valve.people = lambda at_s: 0.995 if at_s < 60 else max(0.0, 0.995 - (at_s - 60) / 8)
    observed, _ = left(valve)
    assert observed.ended is HoldEnd.MOVED
    assert any(note.startswith("it moves") for note in valve.notes)
    assert verdict(observed) == ("travel_change_held", "fail")


def test_starts_and_swings_each_have_their_limit() -> None:
    """The worst decides."""
    valve = standing()
    valve.also = {"starts_total": lambda at_s: 7.0 + at_s // 120}
    assert verdict(left(valve)[0]) == ("restarts_count", "fail")
    swinging = standing()
    swinging.people = lambda at_s: 0.5 + 0.02 * (at_s % 60 < 30)
    assert verdict(left(swinging)[0]) == ("turns_count", "fail")


def test_silence_loses_nothing() -> None:
    """The line is down for a while: it goes on."""
    valve = standing()
    valve.silent_from = 300
    assert left(valve)[0].ended is HoldEnd.DONE


@pytest.mark.parametrize("minutes", ["", "0", "-1", "long", "inf", "nan", "2000"])
def test_a_time_that_is_none_is_refused(minutes: str) -> None:
    """With what is wanted."""
    with pytest.raises(ValueError, match="minutes: how long to watch"):
        hold_s({"minutes": minutes})


def test_limits_as_the_checklist_gives_them() -> None:
    """By figure; without any, or with words for a number, it does not begin."""
    assert [(name, limits.high) for name, limits in hold_limits(ARGUMENTS)] == [
        ("restarts_count", "1"), ("turns_count", "3"), ("travel_change_held", "0.01"),
    ]  # fmt: skip
    with pytest.raises(ValueError, match="a limit: most_restarts"):
        next(hold(xv_1101(), {"minutes": "10"}))
    with pytest.raises(ValueError, match="most_turns: a number"):
        hold_limits({"most_turns": "few"})
