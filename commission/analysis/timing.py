"""
Timing a stroke: from what was seen to figures with their 95 % intervals.

`verify` calls `stroke_figures` again on the record, so it depends on nothing but its arguments.
"""

import math

import msgspec

from commission.analysis.durations import duration_figure
from commission.analysis.extremes import level_figures
from commission.analysis.intervals import Instant, half_width_ns
from commission.analysis.loads import load_figures
from commission.analysis.moments import CROSSINGS, Moments, moments
from commission.analysis.observed import StrokeEnd, StrokeObserved, limit_role
from commission.analysis.profile import profile_figures
from commission.analysis.pump_seen import pump_efficiency
from commission.analysis.restarts import run_per_travel
from commission.analysis.supply_trace import charge_drawn
from commission.analysis.surroundings import surroundings_figures
from commission.analysis.transmitter import instrument_lines
from commission.figure import Figure
from commission.sheet import End, Sheet
from commission.sheet.decode import Reading
from commission.sheet.model import StrokeLimits

METHOD = "timing.stroke/4"

_JUDGED = {"t6-t0": "response_time", "t6-t4": "traverse_time", "t7-t3": "motion_time"}


class NoMotion(Exception):  # the trade's word, not a fault of the program
    """Nothing moved, or nothing was asked to."""


class IncompleteStroke(Exception):  # the same
    """The stroke was not seen to its end, so it has no time."""


def limits_of(sheet: Sheet, direction: End) -> StrokeLimits:
    """The sheet's limits for a stroke to this end."""
    return sheet.strokes.opening if direction is End.OPEN else sheet.strokes.closing


def judged_name(sheet: Sheet, direction: End) -> str:
    """Name of the figure that the sheet's limit means: `response_time`, `traverse_time` or `motion_time`."""
    return _JUDGED[limits_of(sheet, direction).measured_as]


def predicted_stroke_uncertainty(
    cycle_time_s: float, half_width_s: float, scan_s: float, measured_as: str = "t6-t0"
) -> float:
    """
    The 95 % half-width that a stroke time will have on this line, in seconds, said before the movement.

    Args:
        cycle_time_s: Time from one sample to the next.

        half_width_s: How well each reading's own time is known.

        scan_s: The unit's scan time.

        measured_as: Which time the limit means. Times between two edges carry both; from the command, one.
    """
    edge = tuple(round(width * 1e9) for width in (cycle_time_s, scan_s, 2 * half_width_s))
    other = edge[2:] if measured_as == "t6-t0" else edge
    return half_width_ns((*edge, *other)) / 1e9


def stroke_figures(observed: StrokeObserved, sheet: Sheet) -> tuple[Figure, ...]:
    """
    All figures of one stroke, the judged one first.

    A stroke that ran out of time, and one whose command nobody saw, gives its time as "at least": such a figure can
    fail an upper limit and never pass one (safety rule R19).

    Raises:
        NoMotion: no command was given, it was refused, or it was lost and nothing moved.

        IncompleteStroke: readings that the judged time needs are missing; the message says which.
    """
    if observed.ended in (StrokeEnd.NOT_READY, StrokeEnd.REFUSED, StrokeEnd.NO_MOTION):
        raise NoMotion(f"{observed.test}: {observed.why or observed.ended.value}")
    seen = moments(observed, sheet)
    judged = judged_name(sheet, observed.direction)
    if _not_home(observed, seen):
        return (_ran_out(observed, sheet, seen, judged), *_beside_times(observed, sheet, seen))
    times = stroke_times(seen)
    if judged not in times:
        raise IncompleteStroke(f"{observed.test}: {judged} needs {_missing(judged, seen)}, which was not seen")
    beside = _beside_times(observed, sheet, seen)
    pump = _pump(times.get("motion_time"), beside, observed.direction, sheet)
    ordered = [times.pop(judged), *times.values()]
    if "motor_run" in times:
        ordered.append(run_per_travel(times["motor_run"], 1.0))
    return (*ordered, *pump, *beside)


def _pump(motion: Figure | None, beside: tuple[Figure, ...], towards: End, sheet: Sheet) -> tuple[Figure, ...]:
    """What the pump made of the stroke, where it was the pump that made it."""
    running = next((figure for figure in beside if figure.name == "supply_running"), None)
    found = None if motion is None else pump_efficiency(motion, running, towards, sheet)
    return () if found is None else (found,)


def _beside_times(observed: StrokeObserved, sheet: Sheet, seen: Moments) -> tuple[Figure, ...]:
    """Pressures, current and travel, supply and oil, what the stroke says of its load, and its shape."""
    levels = level_figures(observed, sheet, seen)
    at_start = next((figure for figure in levels if figure.name == "pressure_at_start"), None)
    loads = load_figures(observed, sheet, at_start)
    current = observed.track("motor_current")
    drawn = () if seen.motor_on is None or len(current) < 2 else (_charge(current, sheet),)
    shape = profile_figures(observed, sheet, seen.t3, seen.t7)
    return (*levels, *drawn, *surroundings_figures(observed, sheet), *loads, *shape)


def _charge(current: tuple[Reading, ...], sheet: Sheet) -> Figure:
    """What the stroke took from the supply, as far as it was watched: the pump may run on after the end of travel."""
    return charge_drawn(current, instrument_lines(sheet, "motor_current"))


def _not_home(observed: StrokeObserved, seen: Moments) -> bool:
    """Whether the end limit was not seen to make, or made on the way and had dropped again when time ran out."""
    limit = observed.track(limit_role(observed.direction))
    return seen.t6 is None or (observed.ended is StrokeEnd.TIMED_OUT and not limit[-1].is_true)


def stroke_times(seen: Moments) -> dict[str, Figure]:
    """
    Every time between two moments that were seen, by name; the response time as "at least" where nobody saw its t0.

    Args:
        seen: The moments of one stroke.
    """
    pairs: dict[str, tuple[Instant | None, Instant | None]] = {
        "response_time": (seen.t0, seen.t6),
        "dead_time": (seen.t0, seen.t3),
        "pressure_dead_time": (seen.t0, seen.t2),
        "load_dead_time": (seen.t2, _if_later(seen.t3, seen.t2)),
        "traverse_time": (seen.t4, seen.t6),
        "motion_time": (seen.t3, seen.t7),
        "motor_run": (seen.motor_on, seen.t8),
        "pressure_steady_after": (seen.t6, _if_later(seen.t9, seen.t6)),
    }
    for share, crossing in zip(CROSSINGS, seen.t5, strict=True):
        pairs[f"travel_{share * 100:.0f}_pct_time"] = (seen.t0, crossing)
    found = {
        name: duration_figure(name, a, b, METHOD) for name, (a, b) in pairs.items() if a is not None and b is not None
    }
    if seen.t0 is None and seen.t6 is not None:
        begun = seen.t3 or seen.t4
        if begun is not None:
            found["response_time"] = duration_figure(
                "response_time", begun, seen.t6, METHOD, at_least="no t0: at least this"
            )
    if seen.end_limit_makings > 1:
        chatter = f"the end limit made {seen.end_limit_makings} times; the first is counted"
        for name in ("response_time", "traverse_time"):
            if name in found:
                found[name] = _with_note(found[name], chatter)
    return found


def _if_later(moment: Instant | None, than: Instant | None) -> Instant | None:
    """The moment, where it is the later one: pressure that was steady before the limit made says nothing."""
    return moment if moment is not None and than is not None and moment.at_ns > than.at_ns else None


def _with_note(figure: Figure, note: str) -> Figure:
    return msgspec.structs.replace(figure, note="; ".join(part for part in (figure.note, note) if part))


def _ran_out(observed: StrokeObserved, sheet: Sheet, seen: Moments, judged: str) -> Figure:
    """The judged time as "at least": from its start to the last reading that still shows the end limit not made."""
    limit = observed.track(limit_role(observed.direction))
    start = {"response_time": seen.t0, "traverse_time": seen.t4, "motion_time": seen.t3}[judged] or seen.t0
    if start is None or not limit:
        raise IncompleteStroke(f"{observed.test}: the end limit was not seen to make, and no start of it is known")
    last = limit[-1]
    end = Instant(last.at_ns - last.half_width_ns - round(sheet.link.scan_s * 1e9))
    moved = "" if seen.t3 or seen.t4 else ", no motion seen"
    return duration_figure(judged, start, end, METHOD, at_least=f"end limit not made{moved}: at least this")


def _missing(judged: str, seen: Moments) -> str:
    needs = {
        "response_time": {"the command (t0)": seen.t0},
        "traverse_time": {"the start limit dropping (t4)": seen.t4},
        "motion_time": {"first motion (t3)": seen.t3, "the end of motion (t7)": seen.t7},
    }[judged]
    return " and ".join(words for words, moment in needs.items() if moment is None)


def stroke_spread(times_s: tuple[float, ...]) -> float:
    """
    The largest departure of repeated strokes from their mean, as a fraction of it.

    Raises:
        ValueError: fewer than two strokes, or a time that is not above zero.
    """
    if len(times_s) < 2 or min(times_s) <= 0:
        raise ValueError("a spread needs two strokes or more, with times above zero")
    mean = math.fsum(times_s) / len(times_s)
    return max(abs(time - mean) for time in times_s) / mean
