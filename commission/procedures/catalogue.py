"""
The procedures by the names that checklists and the record use, each with how its figures are computed and judged.

`verify` starts a procedure again from here, gives it the recorded replies, and recomputes.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import msgspec

from commission.analysis.bands import Conditions
from commission.analysis.baseline import Compared, compare
from commission.analysis.corrections import Corrector
from commission.analysis.decision import Decision, Limits, Rule, decide, stroke_limits
from commission.analysis.fail_safe import HELD, MOVED, RESPONSE, fail_safe_figures, faults
from commission.analysis.followed import (
    UNANSWERED,
    InputFollowed,
    NothingFollowed,
    ramp_figures,
    response_figures,
    small_step_figures,
)
from commission.analysis.gauge import gauge_of
from commission.analysis.hold_watch import HoldObserved, NothingHeld, hold_figures
from commission.analysis.monitor import EQUAL, NoPoint, equal_figures, equal_limits, monitor_figures, monitor_limits
from commission.analysis.monitor import LARGEST as MONITOR_LARGEST
from commission.analysis.monitor import SO_FAR as MONITOR_SO_FAR
from commission.analysis.observed import StrokeObserved
from commission.analysis.outside_times import NAME as RESPONSE_OUTSIDE
from commission.analysis.panel_acts import ActsObserved
from commission.analysis.partial import NoPartialStroke, PartialObserved, partial_figures
from commission.analysis.partial_limits import judge_partial
from commission.analysis.protection import (
    RESTARTS,
    TIME,
    NothingActed,
    ProtectionSeen,
    protection_figures,
    protection_limits,
)
from commission.analysis.set_points import NothingGiven, SetPointEnd, SetPointsObserved, set_point_figures
from commission.analysis.span import LARGEST, SO_FAR, NothingRead, SpanObserved, span_figures
from commission.analysis.stem_sensor import stem_faults, stem_sensor_figures
from commission.analysis.timing import IncompleteStroke, NoMotion, judged_name, limits_of, stroke_figures
from commission.analysis.trip import NoTrip, Side, delay_limits, point_limits, trip_set
from commission.analysis.trip_delay import DELAY, TRIPPING, delay_figures, pulse_limits
from commission.analysis.trip_found import FOUND, found_figures, found_limits
from commission.analysis.trip_point import POINT, point_figures
from commission.analysis.wiring import WiringSeen
from commission.figure import Figure, Verdict
from commission.procedures.alarm_contact import alarm_contact
from commission.procedures.bring_back import bring_back, is_back
from commission.procedures.brought import Brought, brought
from commission.procedures.fail_safe import fail_safe
from commission.procedures.fail_safe_plan import BROUGHT, FAIL_SAFE, fail_safe_plan
from commission.procedures.follow_input import FINE, follow_input, follow_limits
from commission.procedures.full_stroke import full_stroke
from commission.procedures.hold import hold, hold_limits
from commission.procedures.monitor_loop import monitor_loop
from commission.procedures.monitor_points import monitor_back, monitor_points
from commission.procedures.panel_acts import panel_acts
from commission.procedures.partial_guards import FAILING
from commission.procedures.partial_stroke import partial_stroke, plan_of
from commission.procedures.partial_told import from_arguments
from commission.procedures.protection import TEST as PROTECTION
from commission.procedures.protection import TEST_TIMED, protection
from commission.procedures.pulse import prove_commands
from commission.procedures.pulse_seen import PulsesSeen
from commission.procedures.requests import Procedure
from commission.procedures.set_points import set_points
from commission.procedures.span import span
from commission.procedures.span_plan import span_plan
from commission.procedures.trip_delay import side_of, trip_delay
from commission.procedures.trip_found import trip_found
from commission.procedures.trip_latch import trip_latch
from commission.procedures.trip_point import trip_point
from commission.procedures.trip_stroke import trip_stroke
from commission.procedures.watched_stroke import watched_stroke
from commission.procedures.wiring_contacts import see_contacts
from commission.procedures.wiring_control_room import point_to_point
from commission.procedures.wiring_values import compare_values
from commission.sheet import End, Sheet

Arguments = Mapping[str, str]


class Judged(msgspec.Struct, frozen=True):
    """Which figure is judged, from which moment to which it runs, by which limits and whose, and what came out."""

    figure: Figure
    limits: Limits
    origin: str
    decision: Decision
    spans: str
    compared: tuple[Compared, ...] = ()


class Test(msgspec.Struct, frozen=True):
    """
    One procedure of the catalogue.

    Args:
        start: The generator, from the sheet and the checklist's arguments.

        figures: The figures of what it observed; empty where it measures nothing.

        judge: The verdict on those figures; None where there is nothing to judge.

        seen: For a procedure that only looks: whether it saw what it wanted (None where it came to nothing), and in
            words; else None.

        points: For a wiring proof: what it saw of each point, which may be none; else None.

        commanded_by: Who commanded it (safety rule R19).

        no_figures: What `figures` raises where there is rightly nothing to measure.

        failing_guards: Guards whose abort is a failure of the unit rather than only an end.

        faults: What the run saw that fails it whatever its figure says, in words; None where it looks for nothing such.
    """

    start: Callable[[Sheet, Arguments], Procedure[Any]]
    figures: Callable[[Any, Sheet], tuple[Figure, ...]]
    judge: Callable[[tuple[Figure, ...], Sheet, Arguments], Judged | None]
    seen: Callable[[Any], tuple[bool | None, str]] | None = None
    points: Callable[[Any], WiringSeen] | None = None
    commanded_by: str = "laptop"
    no_figures: tuple[type[Exception], ...] = ()
    failing_guards: frozenset[str] = frozenset()
    faults: Callable[[Any, Sheet], tuple[str, ...]] | None = None


def direction_of(arguments: Arguments) -> End:
    """
    The end that a stroke goes to.

    Raises:
        ValueError: the arguments name no end.
    """
    return End(arguments.get("direction", ""))


def _start_stroke(sheet: Sheet, arguments: Arguments) -> Procedure[StrokeObserved]:
    return full_stroke(sheet, direction_of(arguments), arguments["test"])


def _start_watched(sheet: Sheet, arguments: Arguments) -> Procedure[StrokeObserved]:
    return watched_stroke(sheet, direction_of(arguments), arguments["test"], arguments["commanded_by"])


def _stroke_figures(observed: StrokeObserved, sheet: Sheet) -> tuple[Figure, ...]:
    return stroke_figures(observed, sheet)


def _judge_stroke(figures: tuple[Figure, ...], sheet: Sheet, arguments: Arguments) -> Judged | None:
    direction = direction_of(arguments)
    name = judged_name(sheet, direction)
    sheet_limits = limits_of(sheet, direction)
    limits = stroke_limits(sheet_limits)
    for figure in figures:
        if figure.name == name:
            end, start = sheet_limits.measured_as.split("-")
            return Judged(figure, limits, sheet_limits.origin, decide(figure, limits), f"{start} to {end}")
    return None


def _span_figures(observed: SpanObserved, sheet: Sheet) -> tuple[Figure, ...]:
    return (*span_figures(observed, sheet), *stem_sensor_figures(observed))


def _span_faults(observed: SpanObserved, _sheet: Sheet) -> tuple[str, ...]:
    return (*stem_faults(observed), *observed.room_faults)


def _room_points(observed: SpanObserved) -> WiringSeen:
    return WiringSeen(points=observed.room)


def _judge_span(figures: tuple[Figure, ...], sheet: Sheet, arguments: Arguments) -> Judged | None:
    """The largest error decides; where not every point was read it can fail, and never pass."""
    plan = span_plan(sheet, arguments)
    for figure in figures:
        if figure.name in (LARGEST, SO_FAR):
            decision = decide(figure, plan.limits)
            if figure.name == LARGEST or decision.verdict is Verdict.FAIL:
                return Judged(figure, plan.limits, plan.loop.origin, decision, f"{len(plan.legs)} points")
    return None


def _hold_figures(observed: HoldObserved, sheet: Sheet) -> tuple[Figure, ...]:
    return hold_figures(observed, sheet)


def _judge_hold(figures: tuple[Figure, ...], _sheet: Sheet, arguments: Arguments) -> Judged | None:
    """Every limit that the checklist gives; the worst decides."""
    by_name = {figure.name: figure for figure in figures}
    known = [(by_name[name], limits) for name, limits in hold_limits(arguments) if name in by_name]
    return _worst(known, arguments.get("origin", "checklist"), f"{arguments['minutes']} min")


def _followed(figures: Callable[[InputFollowed, Sheet], tuple[Figure, ...]]) -> Test:
    """People move the input, the program watches; of several steps the worst decides."""
    return Test(
        follow_input,
        figures,
        _judge_followed,
        commanded_by="people at the unit",
        no_figures=(NothingFollowed,),
    )


def _judge_followed(figures: tuple[Figure, ...], _sheet: Sheet, arguments: Arguments) -> Judged | None:
    limited = follow_limits(arguments)
    if not {name for name, _ in limited} & FINE:  # steps finer than the dead band are to be unanswered
        limited = (*limited, (UNANSWERED, Limits(high="0")))
    known = [(f, limits) for name, limits in limited for f in figures if f.name in (name, f"{name}_{_step_of(f)}")]
    return _worst(known, arguments.get("origin", "checklist"), arguments.get("asked", "the input"))


def _step_of(figure: Figure) -> str:
    _, step, number = figure.name.rpartition("step_")
    return step + number


_WORST_FIRST = (Verdict.FAIL, Verdict.NOT_DECIDED, Verdict.PASS)


def _worst(known: Sequence[tuple[Figure, Limits]], origin: str, spans: str) -> Judged | None:
    """The figure that comes off worst at its limits; None where there is none."""
    judged = [Judged(figure, limits, origin, decide(figure, limits), spans) for figure, limits in known]
    return min(judged, key=lambda one: _WORST_FIRST.index(one.decision.verdict), default=None)


def _start_partial(sheet: Sheet, arguments: Arguments) -> Procedure[PartialObserved]:
    return partial_stroke(sheet, from_arguments(arguments))


def _judge_partial(figures: tuple[Figure, ...], sheet: Sheet, arguments: Arguments) -> Judged | None:
    told = from_arguments(arguments)
    compared: tuple[Compared, ...] = ()
    if told.baseline is not None and told.turn_at_pct is None:
        now = Conditions(oil_c=told.oil_c, supply_v=told.supply_v, rest_h=told.rest_h)
        compared = compare(figures, told.baseline, told.rest_h, told.apart, Corrector(sheet, now))
    found = judge_partial(figures, plan_of(sheet), compared, deliberate_pct=told.turn_at_pct)
    return None if found is None else Judged(*found, spans="first motion to target", compared=compared)


def _start_back(sheet: Sheet, arguments: Arguments) -> Procedure[StrokeObserved]:
    end = arguments.get("end", "")
    return bring_back(sheet, arguments["test"], End(end) if end else None)


def _judge_fail_safe(figures: tuple[Figure, ...], sheet: Sheet, arguments: Arguments) -> Judged | None:
    """The time that is known best; turned round on the way it has only an upper limit. Or how far it moved in place."""
    plan = fail_safe_plan(sheet, arguments)
    first = next((figure for figure in figures if figure.name in (HELD, RESPONSE, RESPONSE_OUTSIDE)), None)
    if first is None:
        return None
    if plan.limits is None:
        limits = Limits(high=str(MOVED))
        return Judged(first, limits, "common practice, no source", decide(first, limits), "cause to put back")
    limits = Limits(high=str(plan.limits.longest_s)) if plan.opposite else stroke_limits(plan.limits)
    begins = "first motion" if first.lower_bound_only else "cause (t0)"
    ends = "end limit (t6)" if first.name == RESPONSE else "stem home"
    return Judged(first, limits, plan.limits.origin, decide(first, limits), f"{begins} to {ends}")


def _set_point_faults(observed: SetPointsObserved, _sheet: Sheet) -> tuple[str, ...]:
    return () if observed.ended is not SetPointEnd.NOT_BACK else (observed.why,)


def _acts_seen(observed: ActsObserved) -> tuple[bool | None, str]:
    return observed.verdict


def _brought_seen(observed: Brought) -> tuple[bool | None, str]:
    return observed.there or None, observed.words


def _start_pulses(sheet: Sheet, arguments: Arguments) -> Procedure[PulsesSeen]:
    return prove_commands(sheet, arguments["test"])


def _no_figures(_observed: object, _sheet: Sheet) -> tuple[Figure, ...]:
    return ()


def _no_judgement(_figures: tuple[Figure, ...], _sheet: Sheet, _arguments: Arguments) -> None:
    return None


def _pulses_seen(observed: PulsesSeen) -> tuple[bool, str]:
    return observed.all_proved, observed.words


def _wiring_seen(observed: WiringSeen) -> tuple[bool, str]:
    return observed.proved, observed.words


def _wiring_points(observed: WiringSeen) -> WiringSeen:
    return observed


def _wiring(start: Callable[[Sheet, Arguments], Procedure[Any]]) -> Test:
    """A proof of wires and map: it only looks."""
    return Test(start, _no_figures, _no_judgement, seen=_wiring_seen, points=_wiring_points, commanded_by="nobody")


def _roles(arguments: Arguments, name: str) -> frozenset[str] | None:
    """The roles that an argument lists, or None where it is left out."""
    return frozenset(arguments[name].split()) if name in arguments else None


def _start_contacts(sheet: Sheet, arguments: Arguments) -> Procedure[WiringSeen]:
    return see_contacts(sheet, arguments["test"], _roles(arguments, "only"))


def _start_values(sheet: Sheet, arguments: Arguments) -> Procedure[WiringSeen]:
    """`points` lists roles, each with the uncertainty of its reference: `supply_voltage:0.02 oil_temperature:0.5`."""
    listed = (item.partition(":") for item in arguments.get("points", "").split())
    return compare_values(sheet, arguments["test"], {role: float(room or 0) for role, _, room in listed})


_MONITOR_SHEET = "sheet's pressure monitor"


def _judged(figure: Figure, limits: Limits, origin: str, spans: str) -> Judged:
    return Judged(figure, limits, origin, decide(figure, limits), spans)


def _named(figures: tuple[Figure, ...], *names: str) -> Figure | None:
    """The figure with the first of these names that there is."""
    return next((figure for name in names for figure in figures if figure.name == name), None)


def _judge_delay(figures: tuple[Figure, ...], sheet: Sheet, arguments: Arguments) -> Judged | None:
    """The pulse that tripped it before the delay itself: it is the finding in the line's daily life."""
    trip = trip_set(sheet, side_of(arguments))
    tripping, delay = _named(figures, TRIPPING), _named(figures, DELAY)
    if tripping is not None:
        return _judged(tripping, pulse_limits(trip), _MONITOR_SHEET, "past the limit and back")
    return None if delay is None else _judged(delay, delay_limits(trip), _MONITOR_SHEET, "crossing to trip")


def _judge_point(figures: tuple[Figure, ...], sheet: Sheet, arguments: Arguments) -> Judged | None:
    figure = _named(figures, POINT)
    limits = point_limits(trip_set(sheet, side_of(arguments)))
    return None if figure is None else _judged(figure, limits, _MONITOR_SHEET, "staircase")


def _judge_found(figures: tuple[Figure, ...], sheet: Sheet, _arguments: Arguments) -> Judged | None:
    figure = _named(figures, FOUND)
    trip = trip_set(sheet, Side.LOW)
    origin = f"{_MONITOR_SHEET}, as fine as the vent was slow"
    return None if figure is None else _judged(figure, found_limits(figures, trip), origin, "first vent")


def _judge_monitor(figures: tuple[Figure, ...], sheet: Sheet, _arguments: Arguments) -> Judged | None:
    """The largest error decides; where not every point was read it can fail, and never pass."""
    figure = _named(figures, MONITOR_LARGEST, MONITOR_SO_FAR)
    if figure is None:
        return None
    found = _judged(figure, monitor_limits(sheet), f"{_MONITOR_SHEET}, % of range", "points up and down")
    return found if figure.name == MONITOR_LARGEST or found.decision.verdict is Verdict.FAIL else None


def _judge_equal(figures: tuple[Figure, ...], sheet: Sheet, arguments: Arguments) -> Judged | None:
    """Equal within both tolerances: the tolerances are the limits, so the comparison itself is accepted simply."""
    figure = _named(figures, EQUAL)
    if figure is None:
        return None
    limits = equal_limits(figures, sheet, gauge_of(arguments.get("gauge", "")))
    decision = decide(figure, limits, Rule.SIMPLE)
    return Judged(figure, limits, "both tolerances together", decision, "monitor and gauge")


def _judge_protection(figures: tuple[Figure, ...], sheet: Sheet, arguments: Arguments) -> Judged | None:
    """At its real limit only (safety rule R23): the sheet's setting, within its tolerance."""
    figure, limits = _named(figures, TIME, RESTARTS), protection_limits(sheet, arguments.get("which", ""))
    return None if figure is None or limits is None else _judged(figure, limits, "sheet's setting", "cause to alarm")


def _protection_faults(observed: ProtectionSeen, _sheet: Sheet) -> tuple[str, ...]:
    return observed.faults


def _protection_seen(observed: ProtectionSeen) -> tuple[bool | None, str]:
    return observed.verdict


def _protection_row(observed: ProtectionSeen) -> WiringSeen:
    return observed.proved()


CATALOGUE: Mapping[str, Test] = {
    "full_stroke": Test(_start_stroke, _stroke_figures, _judge_stroke, no_figures=(NoMotion, IncompleteStroke)),
    "watched_stroke": Test(_start_watched, _stroke_figures, _judge_stroke, no_figures=(NoMotion, IncompleteStroke)),
    BROUGHT: Test(brought, _no_figures, _no_judgement, seen=_brought_seen, commanded_by="people"),
    "set_points": Test(
        set_points, set_point_figures, _judge_followed, no_figures=(NothingGiven,), faults=_set_point_faults
    ),
    "panel_acts": Test(panel_acts, _no_figures, _no_judgement, seen=_acts_seen, commanded_by="people"),
    FAIL_SAFE: Test(fail_safe, fail_safe_figures, _judge_fail_safe, no_figures=(NoMotion,), faults=faults),
    "span": Test(span, _span_figures, _judge_span, points=_room_points, no_figures=(NothingRead,), faults=_span_faults),
    "partial_stroke": Test(
        _start_partial,
        partial_figures,
        _judge_partial,
        no_figures=(NoPartialStroke,),
        failing_guards=FAILING,
    ),
    "hold": Test(hold, _hold_figures, _judge_hold, commanded_by="nobody", no_figures=(NothingHeld,)),
    "small_steps": _followed(small_step_figures),
    "slow_ramp": _followed(ramp_figures),
    "step_response": _followed(response_figures),
    "bring_back": Test(_start_back, _no_figures, _no_judgement, seen=is_back),
    "prove_commands": Test(_start_pulses, _no_figures, _no_judgement, seen=_pulses_seen),
    "see_contacts": _wiring(_start_contacts),
    "compare_values": _wiring(_start_values),
    "point_to_point": _wiring(point_to_point),
    "trip_found": Test(trip_found, found_figures, _judge_found, no_figures=(NoTrip,)),
    "monitor_points": Test(monitor_points, monitor_figures, _judge_monitor, no_figures=(NoPoint,)),
    "trip_delay": Test(trip_delay, delay_figures, _judge_delay, no_figures=(NoTrip,)),
    "trip_point": Test(trip_point, point_figures, _judge_point, no_figures=(NoTrip,)),
    "trip_stroke": Test(trip_stroke, _stroke_figures, _judge_stroke, no_figures=(NoMotion, IncompleteStroke)),
    PROTECTION: Test(
        protection, _no_figures, _no_judgement, seen=_protection_seen, points=_protection_row, commanded_by="people"
    ),
    TEST_TIMED: Test(
        protection,
        protection_figures,
        _judge_protection,
        points=_protection_row,
        no_figures=(NothingActed,),
        faults=_protection_faults,
    ),
    "alarm_contact": _wiring(alarm_contact),
    "trip_latch": _wiring(trip_latch),
    "monitor_loop": _wiring(monitor_loop),
    "monitor_back": Test(monitor_back, equal_figures, _judge_equal, no_figures=(NoPoint,)),
}
"""Every procedure that a checklist can name."""
