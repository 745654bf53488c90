"""
Safety rule R22: a partial stroke that cannot become a full one, whatever goes wrong when.

Fifty seeded strokes here and a thousand in the deep run, on healthy and troubled units, turned round by the unit or by
the laptop, with stops, silences, LOCAL and line pressure at drawn moments. The unit's own travel is the judge. Each of
the twelve aborts is reached by its own cause, and its safe end is seen at the unit, or withheld for its reason.
"""

import asyncio
import random
from collections.abc import Callable

import msgspec
import pytest

from commission.analysis.partial import PartialEnd, PartialObserved
from commission.face.wording import held_line
from commission.job.bodies import GuardTripped, MotionBegun, Noted
from commission.practice.condition import HEALTHY, Condition
from commission.practice.onboard import Onboard
from commission.procedures import partial_guards as guards
from commission.procedures.partial_stroke import partial_stroke
from commission.procedures.partial_told import Told
from commission.sheet import End, Sheet
from commission.supervise.order import Ended
from commission.supervise.safe_end import SafeEndSeen
from tests.analysis.seen import SHEET
from tests.procedures.test_partial_stroke import by_laptop
from tests.supervise.direct import TESS, DirectSite, directly

CYCLE_S = 0.12
TOLD = Told(test="L2 1", steady_s=1.0, starts_used=1, line_change_bar=2.0, cycle_s=CYCLE_S, latency_s=0.05)
HARD_LIMIT_PCT = 20.0
CAUGHT = (232, 377)
"""Found by a deep run: the unit's own travel time-out, running since the laptop's command, took the valve."""

SEEDS = [
    *range(8),
    *CAUGHT,
    *(pytest.param(seed, marks=pytest.mark.long) for seed in range(8, 50)),
    *(pytest.param(seed, marks=pytest.mark.deep) for seed in range(50, 1000) if seed not in CAUGHT),
]

Running = "asyncio.Task[Ended[PartialObserved]]"


class Watched:
    """The unit's true travel, scan by scan, while the stroke runs."""

    def __init__(self, site: DirectSite) -> None:
        self.lowest_pct = 100.0
        self.site = site
        self._step = site.unit.unit._step
        site.unit.unit._step = self._look  # type: ignore[method-assign]  # the truth, not a reading

    def _look(self, seconds: float, ways: object) -> None:
        self._step(seconds, ways)  # type: ignore[arg-type]  # handed through
        self.lowest_pct = min(self.lowest_pct, self.site.unit.unit.hydraulics.travel_pct)


def silence(seconds: float) -> Callable[[DirectSite], None]:
    """The line is silent for so long."""

    def begin(site: DirectSite) -> None:
        loop = asyncio.get_running_loop()
        until_s = loop.time() + seconds
        site.unit.silent = lambda: loop.time() < until_s

    return begin


TROUBLE: dict[str, Callable[[DirectSite], object]] = {
    "nothing": lambda _site: None,
    "stop key": lambda site: site.supervisor.stop(TESS, "stop key"),
    "return key": lambda site: site.supervisor.stop(TESS, "return key", returning=True),
    "program": lambda site: site.supervisor.stop("program", "told to end"),
    "LOCAL": lambda site: site.desk.act("selector", "LOCAL"),
    "low fluid": lambda site: site.desk.act("lift_float", True),
    "line pressure": lambda site: site.desk.act("pipeline_bar", 58.0),
    "two exchanges lost": silence(2 * CYCLE_S),
}
"""What may go wrong; none of it is a real demand, which rightly closes the valve."""

LONG_SILENCE = {"silent": silence(2.0), "silent for long": silence(30.0)}
"""Only where the unit itself turns the stroke round: from a laptop these would be longer than two fast exchanges."""

TAKE_THE_VALVE = ("LOCAL", "low fluid")
"""Number 8: from a laptop's stroke the valve then runs on by the unit's own rules, and nothing may be sent."""


def drawn(draw: random.Random, *, troubled: bool) -> Condition:
    """A unit in good order, or one of the worst."""
    if not troubled:
        return HEALTHY
    return Condition(
        friction_factor=draw.uniform(0.8, 3.5),
        breakaway_factor=draw.choice((1.0, 1.0, draw.uniform(1.5, 8.0))),
        spring_factor=draw.uniform(0.8, 1.05),
        orifice_factor=draw.uniform(0.5, 1.6),
        return_back_pressure_bar=draw.choice((0.0, 5.0)),
        free_air_ml=draw.uniform(5.0, 120.0),
        volumetric_efficiency=draw.choice((None, 0.7)),
    )


async def made(
    site: DirectSite, sheet: Sheet, plan: list[tuple[float, Callable[[DirectSite], object]]]
) -> Ended[PartialObserved]:
    """One partial stroke; each trouble happens at its time, counted from the beginning."""
    loop = asyncio.get_running_loop()
    site.unit.cycle_s, site.unit.latency_s = CYCLE_S, 0.05
    running = loop.create_task(site.run(partial_stroke(sheet, TOLD)))
    begun_s = loop.time()
    for at_s, trouble in sorted(plan, key=lambda item: item[0]):
        await asyncio.wait({running}, timeout=max(0.001, begun_s + at_s - loop.time()))
        if not running.done():
            trouble(site)
    return await running


@pytest.mark.parametrize("seed", SEEDS)
def test_r22_the_hard_limit_is_never_passed(seed: int) -> None:
    """By the unit: whatever the line does. By the laptop: where no gap exceeds two fast exchanges; nobody takes it."""
    draw = random.Random(seed)
    laptop = draw.random() < 0.3
    sheet = by_laptop(mm2=draw.uniform(0.4, 2.5)) if laptop else SHEET
    by_hand = {name: act for name, act in TROUBLE.items() if name not in TAKE_THE_VALVE}
    possible = by_hand if laptop else TROUBLE | LONG_SILENCE
    plan = [(draw.uniform(0.5, 25.0), possible[draw.choice(list(possible))]) for _ in range(draw.choice((0, 1, 1, 2)))]
    condition = drawn(draw, troubled=draw.random() < 0.7)

    async def main() -> None:
        site = DirectSite(sheet, condition, End.OPEN, seed)
        watched = Watched(site)
        ended = await made(site, sheet, plan)
        await asyncio.sleep(40)
        site.unit.catch_up()
        assert watched.lowest_pct >= 100 - HARD_LIMIT_PCT, (seed, watched.lowest_pct, ended)
        assert ended.safe_end.seen in set(SafeEndSeen)
        assert site.unit.slot.current is None
        if ended.observed is not None and ended.observed.ended is PartialEnd.HOME:
            assert site.truth().open_limit

    directly(main())


@pytest.mark.parametrize("act", TAKE_THE_VALVE)
def test_r22_after_number_eight_nothing_is_sent_where_the_laptop_turns_the_stroke_either(act: str) -> None:
    """LOCAL is somebody's hand, and an alarm may be the first sign of a demand: the valve is not driven back."""

    async def main() -> None:
        site = DirectSite(by_laptop(), HEALTHY, End.OPEN, 5)
        ended = await made(site, site.unit.sheet, [(4.5, TROUBLE[act])])
        assert ended.how == "aborted"
        assert ended.safe_end.seen is SafeEndSeen.WITHHELD
        assert [role for _, role in site.unit.writes] == ["command_close"]

    directly(main())


def overridden(**values: float) -> Callable[[DirectSite], None]:
    """The unit shows these values from now on, whatever is true."""

    def begin(site: DirectSite) -> None:
        unit = site.unit.unit
        plain = unit.readings
        unit.readings = lambda: {**plain(), **values}  # type: ignore[method-assign]  # a sensor gone wrong

    return begin


def turns_late(site: DirectSite) -> None:
    """The unit's own target has slipped to 19 %."""
    partial = site.unit.unit.onboard.partial
    assert partial._plan is not None
    partial._plan = msgspec.structs.replace(partial._plan, target_pct=19.0)


def guard_off(site: DirectSite) -> None:
    """The unit's own guard by time does not act."""
    site.unit.unit.settings.partial_guard_time_s = 300.0


def no_return_by_itself(site: DirectSite) -> None:
    """The pump starts by a command only, not by the stroke's own logic."""
    board = site.unit.unit.onboard
    assert isinstance(board, Onboard)
    plain = board._may_run

    def may_run(seen: object) -> bool:
        return "command_open" in {role for _, role in site.unit.writes} and plain(seen)  # type: ignore[arg-type]  # handed through

    board._may_run = may_run  # type: ignore[method-assign]  # a wire that is off


def press_esd(site: DirectSite) -> None:
    """A real demand."""
    site.desk.act("esd_button", True)


def motor(*, on: bool) -> Callable[[DirectSite], None]:
    """The motor's isolator."""
    return lambda site: site.desk.act("motor_isolator", on)


Case = tuple[str, Condition, list[tuple[float, Callable[[DirectSite], object]]], SafeEndSeen]

CASES: list[Case] = [
    (guards.TOO_FAR, HEALTHY, [(0.1, turns_late)], SafeEndSeen.CONFIRMED),
    (guards.NO_MOTION, Condition(breakaway_factor=4.0, orifice_factor=0.1), [], SafeEndSeen.CONFIRMED),
    (guards.LATE_TARGET, Condition(orifice_factor=0.4), [(3.0, guard_off)], SafeEndSeen.CONFIRMED),
    (guards.PRESSURE_LOW, Condition(breakaway_factor=8.0), [], SafeEndSeen.CONFIRMED),
    (guards.PRESSURE_HIGH, HEALTHY, [(6.0, overridden(cylinder_pressure=160e5))], SafeEndSeen.CONFIRMED),
    (guards.CURRENT, HEALTHY, [(20.0, overridden(motor_current=45.0))], SafeEndSeen.CONFIRMED),
    (guards.TOO_FAST, Condition(orifice_factor=2.5), [], SafeEndSeen.CONFIRMED),
    ("8 selector", HEALTHY, [(6.0, TROUBLE["LOCAL"])], SafeEndSeen.WITHHELD),
    ("8 ESD loop", HEALTHY, [(6.0, press_esd)], SafeEndSeen.WITHHELD),
    ("8 fluid", HEALTHY, [(6.0, TROUBLE["low fluid"])], SafeEndSeen.WITHHELD),
    (guards.LATE_RETURN, HEALTHY, [(0.1, no_return_by_itself)], SafeEndSeen.CONFIRMED),
    (guards.LATE_HOME, HEALTHY, [(9.0, motor(on=False)), (60.0, motor(on=True))], SafeEndSeen.CONFIRMED),
    (guards.LINE, HEALTHY, [(6.0, TROUBLE["line pressure"])], SafeEndSeen.CONFIRMED),
]


@pytest.mark.parametrize(
    ("name", "condition", "plan", "seen"), CASES, ids=lambda value: value if isinstance(value, str) else ""
)
def test_r22_each_abort_is_reached_and_its_safe_end_seen(
    name: str,
    condition: Condition,
    plan: list[tuple[float, Callable[[DirectSite], object]]],
    seen: SafeEndSeen,
) -> None:
    """By its own cause: the guard of this name, and the return at the unit; after a take-over nothing is sent."""

    async def main() -> None:
        site = DirectSite(SHEET, condition, End.OPEN, 5)
        ended = await made(site, SHEET, plan)
        (tripped,) = site.recorded(GuardTripped)
        assert tripped.guard == name, tripped
        assert ended.how == "aborted"
        assert ended.safe_end.seen is seen, ended.safe_end
        sent = [role for _, role in site.unit.writes]
        if seen is SafeEndSeen.WITHHELD:
            assert sent == ["command_partial_stroke"]
        else:
            assert set(sent[1:]) == {"command_open"}
            assert site.truth().open_limit
        assert (name in guards.FAILING) is not (name.startswith("8 ") or name == guards.LINE)

    directly(main())


def test_r22_seven_a_silence_beyond_the_gap_returns_the_valve() -> None:
    """Three polls or a quarter of a second; the return goes as soon as the line is back, within its life."""

    async def main() -> None:
        site = DirectSite(SHEET, HEALTHY, End.OPEN, 5)
        ended = await made(site, SHEET, [(6.0, silence(1.0))])
        assert ended.how == "aborted"
        assert "no answer for 0." in ended.reason
        assert ended.safe_end.seen is SafeEndSeen.CONFIRMED
        assert site.truth().open_limit

    directly(main())


def test_r22_a_silence_that_lasts_leaves_it_to_the_units_own_guard() -> None:
    """What was sent lapses after its life; the unit brings the valve home by itself."""

    async def main() -> None:
        site = DirectSite(SHEET, HEALTHY, End.OPEN, 5)
        watched = Watched(site)
        ended = await made(site, SHEET, [(6.0, silence(60.0))])
        assert ended.safe_end.seen is SafeEndSeen.UNCONFIRMED
        await asyncio.sleep(60)
        site.unit.catch_up()
        assert site.truth().open_limit
        assert watched.lowest_pct > 84.5

    directly(main())


@pytest.mark.parametrize(("key", "wanted"), [("stop key", "stopped"), ("return key", "open"), ("program", "open")])
def test_r22_eleven_stop_stops_and_return_returns(key: str, wanted: str) -> None:
    """SPACE holds the valve where it is, R brings it back, and so does the program when it ends."""

    async def main() -> None:
        site = DirectSite(SHEET, HEALTHY, End.OPEN, 5)
        ended = await made(site, SHEET, [(7.0, TROUBLE[key])])
        assert ended.how == "stopped"
        assert ended.safe_end.seen is SafeEndSeen.CONFIRMED, ended.safe_end
        truth = site.truth()
        assert truth.wanted == wanted
        assert truth.open_limit is (wanted == "open")
        if wanted == "stopped":
            assert site.unit.writes[-1][1] == "command_stop"

    directly(main())


@pytest.mark.parametrize("after_s", [0.6, 40.0], ids=["while it is confirmed", "while it is held"])
def test_r22_after_a_stop_the_return_can_still_be_asked_for(after_s: float) -> None:
    """SPACE, then R at once or within a minute (R9: return stays allowed until its test has ended): it comes home."""

    async def main() -> None:
        site = DirectSite(SHEET, HEALTHY, End.OPEN, 5)
        ended = await made(site, SHEET, [(7.0, TROUBLE["stop key"]), (7.0 + after_s, TROUBLE["return key"])])
        assert ended.safe_end.seen is SafeEndSeen.CONFIRMED
        assert site.truth().open_limit
        assert [role for _, role in site.unit.writes][1] == "command_stop"
        assert site.unit.writes[-1][1] == "command_open"

    directly(main())


def test_r22_a_stop_is_held_for_a_minute_and_then_nothing_is_sent_any_more() -> None:
    """The screen says for how long R brings it back; afterwards the test has ended and there is no leave."""

    async def main() -> None:
        site = DirectSite(SHEET, HEALTHY, End.OPEN, 5)
        loop = asyncio.get_running_loop()
        site.unit.cycle_s, site.unit.latency_s = CYCLE_S, 0.05
        running = loop.create_task(site.run(partial_stroke(SHEET, TOLD)))
        await asyncio.sleep(7.0)
        site.supervisor.stop(TESS, "stop key")
        await asyncio.sleep(10.0)
        view = site.supervisor.view
        assert view is not None
        assert "R brings it back, for 5" in held_line(view, site.clock.wire_ns())
        stopped_s = loop.time()
        ended = await running
        assert 48 < loop.time() - stopped_s < 54
        assert (ended.how, ended.safe_end.seen) == ("stopped", SafeEndSeen.CONFIRMED)
        assert site.unit.slot.current is None
        assert not site.supervisor.stop(TESS, "return key", returning=True)
        assert site.unit.writes[-1][1] == "command_stop"
        assert site.truth().wanted == "stopped"

    directly(main())


@pytest.mark.parametrize("after_s", [0.3, 20.0], ids=["while it is confirmed", "while it is held"])
def test_r22_a_program_that_ends_does_not_move_a_valve_that_somebody_stopped(after_s: float) -> None:
    """The agreed return is for a stroke that nobody looks after; a person's stop stands. Nobody is kept waiting."""

    async def main() -> None:
        site = DirectSite(SHEET, HEALTHY, End.OPEN, 5)
        begun_s = asyncio.get_running_loop().time()
        ended = await made(site, SHEET, [(7.0, TROUBLE["stop key"]), (7.0 + after_s, TROUBLE["program"])])
        assert ended.safe_end.seen is SafeEndSeen.CONFIRMED
        assert asyncio.get_running_loop().time() - begun_s < 7.0 + after_s + 4.0
        assert {role for _, role in site.unit.writes[1:]} == {"command_stop"}
        assert site.truth().wanted == "stopped"

    directly(main())


def test_r22_a_demand_while_the_stop_is_held_sends_nothing_more() -> None:
    """R then brings nothing back: the valve is the trip's."""

    async def main() -> None:
        site = DirectSite(SHEET, HEALTHY, End.OPEN, 5)
        plan = [(7.0, TROUBLE["stop key"]), (20.0, press_esd), (25.0, TROUBLE["return key"])]
        ended = await made(site, SHEET, plan)
        assert ended.safe_end.seen is SafeEndSeen.WITHHELD
        assert site.unit.writes[-1][1] == "command_stop"

    directly(main())


def test_r22_on_the_way_back_the_stop_key_still_stops() -> None:
    """A return under way is stopped where it is."""

    async def main() -> None:
        site = DirectSite(SHEET, HEALTHY, End.OPEN, 5)
        ended = await made(site, SHEET, [(7.0, TROUBLE["return key"]), (14.0, TROUBLE["stop key"])])
        assert ended.safe_end.seen is SafeEndSeen.CONFIRMED
        assert site.truth().wanted == "stopped"
        assert not site.truth().pump_on

    directly(main())


def test_r22_the_sum_is_kept_in_the_record() -> None:
    """Both of them: before the run to five percent, and with what was measured there."""

    async def main() -> None:
        sheet = by_laptop()
        site = DirectSite(sheet, HEALTHY, End.OPEN, 5)
        ended = await made(site, sheet, [])
        assert ended.how == "finished"
        notes = [body.mark for body in site.recorded(Noted)]
        sums = [note for note in notes if "%/s" in note]
        assert len(sums) == 2
        assert sums[0].startswith("first to 5 %: ")
        assert "(measured)" in sums[1]
        assert all("is less than" in words for words in sums)

    directly(main())


def test_r22_every_check_is_kept_with_its_reading() -> None:
    """Each in words, before the command."""

    async def main() -> None:
        site = DirectSite(SHEET, HEALTHY, End.OPEN, 5)
        await made(site, SHEET, [])
        notes = [body.mark for body in site.recorded(Noted)]
        for begins in ("ESD loop: healthy", "selector: remote", "valve at its start: ", "motor starts: 5 left of 6"):
            assert any(note.startswith(begins) for note in notes), begins
        (begun,) = site.recorded(MotionBegun)
        assert begun.safe_end == "return"
        assert {guards.TOO_FAR, guards.LATE_HOME, "8 ESD loop"} <= set(begun.guards)

    directly(main())


def test_r22_a_check_that_fails_sends_nothing() -> None:
    """Low fluid before the command: no test, and not a frame."""

    async def main() -> None:
        site = DirectSite(SHEET, HEALTHY, End.OPEN, 5)
        site.desk.act("battery_v", 18.0)
        ended = await made(site, SHEET, [])
        assert not site.unit.writes
        if ended.observed is not None:
            assert ended.observed.ended is PartialEnd.NOT_READY
            assert "supply" in ended.observed.why

    directly(main())
