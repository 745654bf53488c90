"""
Pressures, current and travel of a stroke: at the start and end of motion, the largest, the last.

Their uncertainty is what the readings themselves show: scatter, the last digit, and how well the moment is known. The
transmitter's own error is not in it, and each figure says so.
"""

import math
from itertools import pairwise

from commission import quantity
from commission.analysis.edges import mean_and_noise, typical_scatter
from commission.analysis.intervals import Instant, half_width_ns
from commission.analysis.moments import Moments
from commission.analysis.observed import StrokeObserved
from commission.figure import Figure, make_figure
from commission.sheet import ROLES, Sheet
from commission.sheet.decode import Reading

METHOD = "extremes.stroke/1"

_NOTE = "scatter and last digit only; the transmitter's own error is not in it"
_NOTE_LARGEST = "largest reading; a peak between two samples may be higher"
_NORMAL_95 = 1.96
_TAIL_READINGS = 10


def level_figures(observed: StrokeObserved, sheet: Sheet, seen: Moments) -> tuple[Figure, ...]:
    """The figures that are not times; each only where its point was read."""
    pressure, current = observed.track("cylinder_pressure"), observed.track("motor_current")
    travel = observed.track("travel")
    found: list[Figure] = []
    for name, moment in (("pressure_at_start", seen.t3), ("pressure_at_end", seen.t7)):
        if moment is not None and len(pressure) > 1:
            found.append(_at_moment(name, pressure, moment, sheet))
    if pressure:
        found.append(_largest("pressure_max", "cylinder_pressure", pressure, sheet))
    if current:
        found.append(_largest("current_max", "motor_current", current, sheet))
    if travel:
        found.append(_final(travel, _step(sheet, "travel")))
    return tuple(found)


def _step(sheet: Sheet, role: str) -> float:
    """One count of the point's register in the role's unit; 0 for a floating-point register."""
    point = sheet.point(role)
    if point is None or point.type == "f32":
        return 0.0
    return abs(point.scale * quantity.conversion(point.unit, ROLES[role].unit or "1").scale)


def _digit(step: float) -> float:
    """Standard uncertainty of a digital reading's last digit (JCGM 100:2008, F.2.2.1)."""
    return step / math.sqrt(12)


def _at_moment(name: str, track: tuple[Reading, ...], moment: Instant, sheet: Sheet) -> Figure:
    """
    The pressure at a moment, between the readings before and after it.

    The slope that turns unsure time into unsure pressure is the steepest of the three steps around the moment, and a
    quarter of a step is allowed for a corner within it: motion starts and ends at corners of the pressure curve.
    """
    scan_ns = round(sheet.link.scan_s * 1e9)
    shown_ns = moment.at_ns + scan_ns // 2
    after = next((i for i, reading in enumerate(track) if reading.at_ns >= shown_ns), len(track) - 1)
    after = max(1, after)
    before, later = track[after - 1], track[after]
    share = min(1.0, max(0.0, (shown_ns - before.at_ns) / max(1, later.at_ns - before.at_ns)))
    value = before.value + share * (later.value - before.value)
    around = track[max(0, after - 2) : after + 2]
    steepest = max(abs(b.value - a.value) / max(1, b.at_ns - a.at_ns) for a, b in pairwise(around))
    widths = (*moment.widths_ns, scan_ns, 2 * later.half_width_ns, (later.at_ns - before.at_ns) // 2)
    from_time = steepest * half_width_ns(widths, moment.noise_ns)
    noise = typical_scatter(track[max(0, after - _TAIL_READINGS) : after + _TAIL_READINGS])
    half = math.hypot(_NORMAL_95 * math.hypot(noise, _digit(_step(sheet, "cylinder_pressure"))), from_time)
    return make_figure(name, value, half, "Pa", METHOD, note=_NOTE)


def _largest(name: str, role: str, track: tuple[Reading, ...], sheet: Sheet) -> Figure:
    index = max(range(len(track)), key=lambda i: track[i].value)
    around = track[max(0, index - _TAIL_READINGS) : index + _TAIL_READINGS]
    half = _NORMAL_95 * math.hypot(typical_scatter(around), _digit(_step(sheet, role)))
    return make_figure(name, track[index].value, half, ROLES[role].unit, METHOD, note=f"{_NOTE_LARGEST}; {_NOTE}")


def _final(track: tuple[Reading, ...], step: float) -> Figure:
    tail = track[-_TAIL_READINGS:]
    mean, noise = mean_and_noise(tail)
    half = _NORMAL_95 * math.hypot(noise / math.sqrt(len(tail)), _digit(step))
    return make_figure("final_travel", mean, half, "1", METHOD, note=_NOTE)
