"""M3 and M4 played against a valve whose input people step."""

import msgspec
import pytest

from commission.analysis.followed import FollowEnd, InputFollowed
from commission.content import checklists_folder
from commission.procedures.catalogue import CATALOGUE
from commission.procedures.follow_input import follow_input, follow_limits, follow_s
from commission.sheet import Sheet, load_sheet
from tests.procedures.held_valve import HeldValve
from tests.procedures.played import play
from tests.sheet.xv import xv_1101

SHEET: Sheet = load_sheet(checklists_folder() / "units" / "fcv-2204.toml")[0]
ARGUMENTS = {"test": "M4 1", "minutes": "10", "asked": "Step the input by 10 %", "most_t86_s": "3", "origin": "sheet"}


def stepped(at_s: float) -> float:
    """The input: 50 %, at 10 s 60 %, at 30 s 50 % again."""
    return 0.6 if 10 <= at_s < 30 else 0.5


class Following(HeldValve):
    """A valve that goes to its input at 12.5 % a second after 0.3 s, and people who say when it is done."""

    def __init__(self, done_s: float = 50.0) -> None:
        super().__init__()
        self.interrupts, self.interrupts_from_s = {"done": 1}, done_s
        self._reached = 0.5
        self.people = self._follow
        self.also = {"command_current": lambda at_s: (4 + 16 * stepped(at_s)) / 1e3}

    def _follow(self, at_s: float) -> float:
        wanted = stepped(at_s - 0.3)
        self._reached += max(-0.0125, min(0.0125, wanted - self._reached))
        return self._reached


def followed(valve: HeldValve, arguments: dict[str, str] = ARGUMENTS) -> InputFollowed:
    """Play it to its end."""
    observed, begun = play(follow_input(SHEET, arguments), valve)
    assert begun.commands == ()
    assert isinstance(observed, InputFollowed)
    return observed


def test_steps_that_people_make_are_judged_by_the_worst() -> None:
    """Two steps of 10 %: T86 near one second; 3 s is a limit, 0.5 s is not."""
    observed = followed(Following())
    assert observed.ended is FollowEnd.DONE
    test = CATALOGUE["step_response"]
    figures = test.figures(observed, SHEET)
    times = [figure for figure in figures if figure.name.startswith("t86_step")]
    assert [figure.name for figure in times] == ["t86_step_1", "t86_step_2"]
    assert [figure.unrounded for figure in times] == pytest.approx([1.0, 1.0], abs=0.15)
    for limit, verdict in (("3", "pass"), ("0.5", "fail")):
        judged = test.judge(figures, SHEET, {**ARGUMENTS, "most_t86_s": limit})
        assert judged is not None
        assert judged.decision.verdict == verdict
        assert judged.figure.name.startswith("t86_step")


def test_a_step_that_is_not_answered_fails() -> None:
    """The valve stands where it stood."""
    valve = Following()
    valve.people = lambda _at_s: 0.5
    test = CATALOGUE["step_response"]
    judged = test.judge(test.figures(followed(valve), SHEET), SHEET, ARGUMENTS)
    assert judged is not None
    assert (judged.figure.name, judged.decision.verdict) == ("steps_unanswered_count", "fail")


def test_what_to_do_is_said_once_it_was_seen_at_rest() -> None:
    """Aloud, and only once."""
    valve = Following()
    followed(valve)
    assert valve.notes == ["asked: Step the input by 10 %"]


def test_nobody_says_done() -> None:
    """It ends at its time, and what was seen is kept."""
    observed = followed(Following(done_s=1e9), {**ARGUMENTS, "minutes": "1"})
    assert observed.ended is FollowEnd.TOO_LONG
    assert "1 min" in observed.why
    assert len(observed.seen) > 500


def test_what_it_needs_is_refused_before_it_begins() -> None:
    """An input, a time, a limit."""
    with pytest.raises(ValueError, match="needs a point for command_current"):
        next(follow_input(xv_1101(), ARGUMENTS))
    with pytest.raises(ValueError, match="a limit: most_dead_band_pct"):
        next(follow_input(SHEET, {"minutes": "3"}))
    with pytest.raises(ValueError, match="minutes: how long it may take"):
        follow_s({"minutes": "soon"})
    with pytest.raises(ValueError, match="most_t86_s: a number"):
        follow_limits({"most_t86_s": "quick"})
    limits = dict(follow_limits({"most_dead_band_pct": "1", "most_overshoot_pct": "20"}))
    assert {name: one.high for name, one in limits.items()} == {"dead_band": "0.01", "overshoot": "0.20"}


def test_an_input_that_was_not_read_has_no_figures() -> None:
    """No test, with the reason."""
    unread = msgspec.structs.replace(followed(Following()), seen=())
    for name in ("small_steps", "slow_ramp", "step_response"):
        test = CATALOGUE[name]
        with pytest.raises(test.no_figures):
            test.figures(unread, SHEET)
