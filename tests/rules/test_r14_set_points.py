"""
Safety rule R14: the first set point written is the measured position; step and rate are limited by the sheet; the safe
end is hold, then hand the source back, read back; "set point from the link" stands on the temporary list.

Over a real socket in virtual time, against the modulating practice unit. What reached the unit is asked of the unit.
"""

import asyncio
from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec
import pytest

from commission.analysis.set_points import SetPointEnd, SetPointsObserved, set_point_figures
from commission.content import checklists_folder
from commission.job.bodies import MotionBegun, MotionEnded, TemporaryAdded, TemporaryRemoved
from commission.leave import Leave, LeaveSlot
from commission.link.write_guard import EnergyView, WriteGuard
from commission.practice.condition import HEALTHY, Condition
from commission.practice.follower import Follower
from commission.procedures.pulse import prove_commands
from commission.procedures.requests import Begin, Command, Procedure, Watch
from commission.procedures.set_points import set_points
from commission.sheet import Sheet, load_sheet
from commission.supervise.order import Ended
from commission.supervise.safe_end import SafeEndSeen
from commission.walk.leave_rules import LINK_SET_POINT, _listed
from tests.supervise.rig import TESS, Site, rig
from tests.virtual_time import run_virtual
from tests.walk.visits import good_person

FCV: Sheet = load_sheet(checklists_folder() / "units" / "fcv-2204.toml")[0]
PROVED = frozenset({"set_point", "command_follow_link", "command_follow_loop"})
HALF_MA, MOST_TRIES = 12.0, 4000


class Noted:
    """Every set point that reached the unit: unit time and percent."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.points: list[tuple[float, float]] = []
        self.board = site.desk.unit.onboard
        assert isinstance(self.board, Follower)
        self._taken = self.board.command_to
        self.board.command_to = self._take  # type: ignore[method-assign]  # noted, and obeyed

    def _take(self, percent: float, seen: Any) -> None:
        self.points.append((self.site.desk.unit.now_s, percent))
        self._taken(percent, seen)


Played = tuple[Ended[SetPointsObserved], Noted, Site]


def played(
    folder: Path,
    steps: str,
    during: Callable[[Site], object] | None = None,
    *,
    after_points: int = 3,
    condition: Condition = HEALTHY,
    procedure: Procedure[SetPointsObserved] | None = None,
) -> Played:
    """One run on a valve that stands at half travel by its loop; something happens after so many set points."""

    async def main() -> Played:
        async with rig(folder, sheet=FCV, condition=condition) as site:
            site.desk.act("command_signal", HALF_MA)
            await site.until(lambda truth: abs(truth.travel_pct - 50) < 1.5)
            await asyncio.sleep(3)
            site.view = EnergyView("live", 1, PROVED)
            noted = Noted(site)
            steps_of = procedure or set_points(FCV, {"test": "M4 1", "steps": steps})
            running = asyncio.ensure_future(site.run(steps_of, name="set_points"))
            if during is not None:
                for _ in range(MOST_TRIES):
                    if len(noted.points) >= after_points or running.done():
                        break
                    await asyncio.sleep(0.05)
                await asyncio.sleep(1.0)
                during(site)
            ended = await running
            await asyncio.sleep(3)
            site.desk.read("truth")
            return ended, noted, site

    return run_virtual(main())


def follows_link(noted: Noted) -> bool:
    """Whose set point the unit follows."""
    assert isinstance(noted.board, Follower)
    return noted.board.follows_link


def test_r14_the_first_set_point_is_the_measured_position_and_taking_the_source_moves_nothing(tmp_path: Path) -> None:
    """Within the unit's own dead band; and at the end the valve is where its loop wants it."""
    ended, noted, site = played(tmp_path, "0 5 -5")
    observed = ended.observed
    assert observed is not None, ended
    assert observed.ended is SetPointEnd.DONE
    first = noted.points[0][1]
    before = [reading.value * 100 for reading in observed.travel if reading.at_ns < observed.given[0].at_ns]
    assert first == pytest.approx(sum(before) / len(before), abs=0.3)
    taken = [r.value * 100 for r in observed.travel if r.at_ns < observed.given[1].at_ns]
    assert max(taken) - min(taken) < 1.0
    assert not follows_link(noted)
    assert site.truth().travel_pct == pytest.approx(first, abs=1.0)


@pytest.mark.parametrize("steps", ["2 -2 5 -5 10 -10", "10 10 10 -10 -10 -10", "0.5 0.5 0.5 -0.5 -0.5"])
def test_r14_no_step_is_larger_and_none_faster_than_the_sheet_allows(tmp_path: Path, steps: str) -> None:
    """Of all that reached the unit, the way back included."""
    plan = FCV.modulating
    assert plan is not None
    assert plan.set_point_step_pct is not None
    assert plan.set_point_rate_pct_s is not None
    ended, noted, _ = played(tmp_path, steps)
    assert ended.how == "finished"
    assert len(noted.points) > len(steps.split())
    for (one_s, one), (other_s, other) in zip(noted.points, noted.points[1:], strict=False):
        assert abs(other - one) <= plan.set_point_step_pct + 0.02
        assert abs(other - one) <= plan.set_point_rate_pct_s * (other_s - one_s + 0.02) + 0.02
        assert 0 <= other <= 100


def test_r14_a_stop_holds_then_hands_the_source_back_and_reads_it_back(tmp_path: Path) -> None:
    """Confirmed, in words; the stop reached the unit before the source was handed back."""
    ended, noted, site = played(tmp_path, "10 10 10", lambda site: site.supervisor.stop(TESS, "stop key"))
    assert ended.how == "stopped"
    assert ended.safe_end.seen is SafeEndSeen.CONFIRMED
    assert "handed back, and read back" in ended.safe_end.reason
    assert not follows_link(noted)
    stop, back = site.writes("command_stop"), site.writes("command_follow_loop")
    assert stop
    assert back
    assert stop[0].at_s < back[0].at_s
    assert not [frame for frame in site.writes("set_point") if frame.at_s > stop[0].at_s]


@pytest.mark.parametrize(
    "taken",
    [
        pytest.param(lambda site: site.desk.act("selector", "LOCAL"), id="LOCAL"),
        pytest.param(lambda site: site.desk.act("esd_button", True), id="ESD"),
    ],
)
def test_r14_whoever_takes_the_valve_has_it(tmp_path: Path, taken: Callable[[Site], object]) -> None:
    """Nothing is sent after that: neither hold nor hand-back (rule R10)."""
    ended, _, site = played(tmp_path, "10 10 10", taken)
    assert ended.how == "aborted"
    assert ended.safe_end.seen is SafeEndSeen.WITHHELD
    assert not site.writes("command_follow_loop")
    assert not site.writes("command_stop")


def test_r14_a_first_set_point_elsewhere_never_reaches_the_unit(tmp_path: Path) -> None:
    """A procedure that is wrong is stopped before the wire, and what it had taken is handed back."""

    def wrong() -> Procedure[SetPointsObserved]:
        right = set_points(FCV, {"test": "M4 1", "steps": "0"})
        begun = next(right)
        assert isinstance(begun, Begin)
        yield begun
        for _ in range(20):
            yield Watch()
        yield Command("set_point", 8000)
        raise AssertionError("it went on")

    ended, noted, _ = played(tmp_path, "", procedure=wrong())
    assert "is not the measured position" in ended.reason
    assert noted.points == []


def guard() -> tuple[WriteGuard, LeaveSlot]:
    """A guard with leave for the whole travel."""
    slot = LeaveSlot()
    slot.grant(Leave("M4 1", {}, 10**15, 1, TESS, ranges={"set_point": (0, 10000)}))
    return WriteGuard(FCV, slot, 1), slot


LIVE = EnergyView("live", 1, PROVED)


@pytest.mark.parametrize(
    ("value", "after_s", "words"),
    [
        (6000, 10.0, None),
        (6001, 10.0, None),
        (6100, 10.0, "the sheet allows 10 %"),
        (3900, 10.0, "the sheet allows 10 %"),
        (5500, 1.1, None),
        (5500, 0.5, "the sheet allows 5 %/s"),
        (10001, 10.0, "outside travel"),
    ],
)
def test_r14_the_write_guard_itself_refuses_too_far_and_too_fast(value: int, after_s: float, words: str | None) -> None:
    """Whatever a procedure asks: after 50 %, so much later."""
    admits, _ = guard()
    admits.admit("set_point", 5000, LIVE, 10**9)
    refused = admits.refusal("set_point", value, LIVE, 10**9 + round(after_s * 1e9))
    assert (refused is None) if words is None else (refused is not None and words in refused)


def test_r14_another_leave_begins_anew_and_none_at_all_writes_nothing() -> None:
    """Its first value is the supervisor's to see."""
    admits, slot = guard()
    admits.admit("set_point", 5000, LIVE, 10**9)
    slot.withdraw("over")
    assert admits.refusal("set_point", 5000, LIVE, 2 * 10**9) == "over"
    slot.grant(Leave("M4 2", {}, 10**15, 1, TESS, ranges={"set_point": (0, 10000)}))
    assert admits.refusal("set_point", 9000, LIVE, 3 * 10**9) is None
    assert "not been proved" in (admits.refusal("set_point", 9000, EnergyView("live", 1), 3 * 10**9) or "")


def test_r14_it_stands_on_the_temporary_list_first() -> None:
    """Without that there is no leave, whoever says go; a stroke by commands needs no such thing."""
    begun = next(set_points(FCV, {"test": "M4 1", "steps": "0"}))
    assert isinstance(begun, Begin)
    visit = good_person().visit
    refused = _listed(visit.job, begun)
    assert refused is not None
    assert "temporary list" in str(refused)
    assert _listed(visit.job, msgspec.structs.replace(begun, set_points=None)) is None
    on = TemporaryAdded(id="T1", kind=LINK_SET_POINT, what="set point from the link", where="FCV-2204", why="M4")
    visit.record(on)
    assert _listed(visit.job, begun) is None
    visit.record(TemporaryRemoved(id="T1", second_person="O.", proved_by="the panel shows LOOP"))
    assert _listed(visit.job, begun) is not None


def test_r14_set_point_and_source_are_proved_in_control_first(tmp_path: Path) -> None:
    """Motor and oil locked off: each is seen, nothing moves, and the loop has the valve again."""

    async def main() -> None:
        async with rig(tmp_path, sheet=FCV) as site:
            site.desk.act("command_signal", HALF_MA)
            await site.until(lambda truth: abs(truth.travel_pct - 50) < 1.5)
            site.desk.act("motor_isolator", False)
            site.desk.act("all_bleeds", True)
            await asyncio.sleep(30)
            stood = site.truth().travel_pct
            site.view = EnergyView("control", 1, frozenset(), at_rest=True)
            ended = await site.run(prove_commands(FCV, "I3 1"), name="prove_commands")
            assert ended.observed is not None, ended
            assert ended.observed.all_proved, ended.observed.words
            assert ended.observed.proved == ("command_follow_link", "command_follow_loop", "set_point")
            assert site.truth().travel_pct == pytest.approx(stood, abs=0.5)
            (begun,) = site.bodies(MotionBegun)
            assert set(begun.commands) >= PROVED

    run_virtual(main())


def test_r14_figures_of_the_steps_come_out(tmp_path: Path) -> None:
    """A 10 % step: dead time 0.3 s and 12.5 %/s by the sheet make T86 about 1.0 s, without overshoot."""
    ended, _, site = played(tmp_path, "10 -10")
    assert ended.observed is not None
    figures = {figure.name: figure for figure in set_point_figures(ended.observed, FCV)}
    assert float(figures["t86_step_1"].value) == pytest.approx(1.0, abs=0.35)
    assert float(figures["overshoot_step_1"].value) < 0.05
    assert figures["steps_unanswered_count"].value == "0"
    assert [body.safe_end for body in site.bodies(MotionEnded)] == ["not needed"]
