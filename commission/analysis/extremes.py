"""
Pressures, current and travel of a stroke: at the start and end of motion, the largest, the last.

Pressures at the two ends of motion are those of the motion, not of the fall or rise beside it. Uncertainty is what
the readings themselves show: scatter, the last digit, and how well the moment is known. The transmitter's own error is
not in it, and each figure says so.
"""

import math
from collections.abc import Sequence

import msgspec

from commission.analysis.budget import Budget, normal, readings, rectangular, resolution, student
from commission.analysis.edges import MEDIAN_COSTS, mean_and_noise, typical_scatter
from commission.analysis.intervals import Instant, half_width_ns
from commission.analysis.moments import Moments
from commission.analysis.motion import Ramp, fit_ramp
from commission.analysis.observed import StrokeObserved
from commission.analysis.transmitter import digit_step
from commission.figure import Figure, make_figure
from commission.sheet import ROLES, Sheet
from commission.sheet.decode import Reading

METHOD = "extremes.stroke/4"

_NOTE = "scatter and last digit only; the transmitter's own error is not in it"
_NOTE_LARGEST = "largest reading; a peak between two samples may be higher"
_NOTE_MOVING = f"from readings in motion, carried to its first or last moment; {_NOTE}"
_NOTE_RANGE = f"too few readings in motion: between the least and the largest around the moment; {_NOTE}"
_NORMAL_95 = 1.96
_TAIL_READINGS = 10
_AROUND = 60
_NEAR_NOISES = 4
_FLIPS = 2.5
_LEAST_FREEDOM = 4.0
"""A few readings' scatter is not known with less: 95 to 97 % of largest ones of 4 to 10 are covered (measured)."""

_LEAST_IN_MOTION, _MOST_IN_MOTION = 3, 8
_WINDOW_REACHES = 3
_BENDS_ON = 1.5
"""Towards an end the curve may bend more than in the readings; without this, 92 % of coarsely read ones are covered."""


def level_figures(observed: StrokeObserved, sheet: Sheet, seen: Moments) -> tuple[Figure, ...]:
    """The figures that are not times; each only where its point was read."""
    pressure, current = observed.track("cylinder_pressure"), observed.track("motor_current")
    travel = observed.track("travel")
    found: list[Figure] = []
    found.extend(_pressures_of_motion(pressure, sheet, seen))
    if pressure:
        found.append(_largest("pressure_max", "cylinder_pressure", pressure, sheet))
    if current:
        found.append(_largest("current_max", "motor_current", current, sheet))
    if travel:
        found.append(final_travel(travel, seen.t7, digit_step(sheet, "travel")))
    return tuple(found)


def _pressures_of_motion(pressure: tuple[Reading, ...], sheet: Sheet, seen: Moments) -> list[Figure]:
    if len(pressure) < 2:
        return []
    scan_ns = round(sheet.link.scan_s * 1e9)
    start, end = (None if moment is None else _shown(moment, scan_ns) for moment in (seen.t3, seen.t7))
    found = []
    if start is not None:
        found.append(_beside_motion("pressure_at_start", pressure, start, end, sheet))
    if end is not None:
        far = None if start is None else _mirrored(start)
        found.append(_beside_motion("pressure_at_end", _backwards(pressure), _mirrored(end), far, sheet))
    return found


def _digit(step: float) -> float:
    """Standard uncertainty of a digital reading's last digit (JCGM 100:2008, F.2.2.1)."""
    return step / math.sqrt(12)


def _beside_motion(
    name: str, track: tuple[Reading, ...], corner: Instant, far_corner: Instant | None, sheet: Sheet
) -> Figure:
    """
    The pressure at which the valve starts or stops moving: that of the motion, carried to its first or last moment.

    Outside the motion pressure may change a hundred times as fast as in it (a dump valve empties the cylinder in a few
    tenths of a second before the first motion and again after the last), so a reading across the corner says nothing.

    Args:
        name: The figure.

        track: Pressure; run backwards in time for the end of motion, like both corners.

        corner: Where motion starts.

        far_corner: Where it ends; None where that was not seen.

        sheet: For the scan and the last digit.
    """
    scan_ns = round(sheet.link.scan_s * 1e9)
    reading_ns = 2 * max(reading.half_width_ns for reading in track)
    reach_ns = half_width_ns((*corner.widths_ns, scan_ns, reading_ns), corner.noise_ns)
    until_ns = track[-1].at_ns if far_corner is None else far_corner.earliest_ns - scan_ns
    moving = [reading for reading in track if corner.at_ns + reach_ns < reading.at_ns <= until_ns]
    digit = _digit(digit_step(sheet, "cylinder_pressure"))
    if len(moving) < _LEAST_IN_MOTION:
        return _between_readings(name, track, corner, reach_ns, digit)
    window, averaged = _window(moving, corner.at_ns, reach_ns)
    ramp = fit_ramp(window)
    straight = _on_ramp(ramp, corner.at_ns)
    bend = _on_parabola(window, corner.at_ns) - straight
    noise = typical_scatter(moving[: _TAIL_READINGS * averaged]) / math.sqrt(averaged)
    weight = 1 / ramp.count + (corner.at_ns - ramp.mean_at_ns) ** 2 / ramp.spread_ns2
    from_noise = _NORMAL_95 * math.hypot(noise * math.sqrt(weight), digit)
    from_time = ramp.slope * reach_ns
    # A bend puts the line to one side, always the same one: it is added in full, not as a square, as for a correction
    # that is known and not applied (JCGM 100:2008, F.2.4.5).
    half = math.hypot(from_noise, from_time) + _BENDS_ON * abs(bend)
    lines = (
        normal("noise of the readings", noise * math.sqrt(weight)),
        normal("last digit of the register", digit),
        normal("when motion began or ended", abs(from_time) / _NORMAL_95),
        rectangular("bend of the curve, added in full", _BENDS_ON * abs(bend)),
    )
    figure = make_figure(name, straight, half, "Pa", METHOD, note=_NOTE_MOVING)
    return msgspec.structs.replace(figure, budget=Budget(tuple(line for line in lines if line.width)).printable())


def _window(moving: Sequence[Reading], corner_ns: int, reach_ns: int) -> tuple[list[Reading], int]:
    """
    Readings near the corner: few enough for the curve to be straight in them, enough for the noise of a fast line.

    Where there are many, so many in a row are averaged to one (the second number): a recorder at a thousand readings a
    second would else be fitted over a few milliseconds, where noise is all there is.
    """
    near = sum(reading.at_ns <= corner_ns + _WINDOW_REACHES * reach_ns for reading in moving)
    together = max(1, near // _MOST_IN_MOTION)
    if together == 1:
        return list(moving[: min(_MOST_IN_MOTION, max(_LEAST_IN_MOTION, near))]), 1
    starts = range(0, near - together + 1, together)
    return [_averaged(moving[start : start + together]) for start in starts], together


def _averaged(readings: Sequence[Reading]) -> Reading:
    count = len(readings)
    value = math.fsum(reading.value for reading in readings) / count
    return Reading(value, sum(reading.at_ns for reading in readings) // count, readings[0].half_width_ns)


def _on_ramp(ramp: Ramp, at_ns: int) -> float:
    return ramp.mean_value + ramp.slope * (at_ns - ramp.mean_at_ns)


def _on_parabola(window: Sequence[Reading], at_ns: int) -> float:
    """The parabola through the first, middle and last reading: what it says other than the line is curvature."""
    points = (window[0], window[len(window) // 2], window[-1])
    total = 0.0
    for one in points:
        others = [other.at_ns for other in points if other is not one]
        total += one.value * math.prod((at_ns - other) / (one.at_ns - other) for other in others)
    return total


def _between_readings(name: str, track: tuple[Reading, ...], corner: Instant, reach_ns: int, digit: float) -> Figure:
    """Too few readings in motion: anything between the least and the largest reading around the moment."""
    first = max((i for i, r in enumerate(track) if r.at_ns <= corner.at_ns - reach_ns), default=0)
    last = min((i for i, r in enumerate(track) if r.at_ns >= corner.at_ns + reach_ns), default=len(track) - 1)
    values = [reading.value for reading in track[first : last + 1]]
    low, high = min(values), max(values)
    half = (high - low) / 2 + _NORMAL_95 * digit
    lines = (rectangular("between the least and the largest, in full", (high - low) / 2), normal("last digit", digit))
    figure = make_figure(name, (low + high) / 2, half, "Pa", METHOD, note=_NOTE_RANGE)
    return msgspec.structs.replace(figure, budget=Budget(lines).printable())


def _backwards(track: tuple[Reading, ...]) -> tuple[Reading, ...]:
    return tuple(Reading(r.value, -r.at_ns, r.half_width_ns) for r in reversed(track))


def _shown(moment: Instant, scan_ns: int) -> Instant:
    """When readings show the moment: on average half a scan later."""
    return msgspec.structs.replace(moment, at_ns=moment.at_ns + scan_ns // 2)


def _mirrored(moment: Instant) -> Instant:
    return msgspec.structs.replace(moment, at_ns=-moment.at_ns)


def _largest(name: str, role: str, track: tuple[Reading, ...], sheet: Sheet) -> Figure:
    """
    The largest reading, which noise makes too large: the more readings were as near to it, the more.

    All that are within four deviations of it may be it, and each is known as well as one reading is.
    """
    index = max(range(len(track)), key=lambda i: track[i].value)
    around, step = track[max(0, index - _AROUND) : index + _AROUND], digit_step(sheet, role)
    # A register of whole counts that flips between two hides its noise from the median.
    flips = [reading for reading in around if reading.value >= track[index].value - _FLIPS * step]
    noise = max(typical_scatter(around), mean_and_noise(flips)[1])
    near = sum(reading.value >= track[index].value - _NEAR_NOISES * noise for reading in track)
    lines = [student("noise of a reading", noise, max(_LEAST_FREEDOM, len(around) / MEDIAN_COSTS))]
    if step:
        lines.append(resolution("last digit of the register", step))
    note = f"{_NOTE_LARGEST}; {_NOTE}"
    return Budget(tuple(lines)).figure(
        name, track[index].value, ROLES[role].unit, METHOD, note=note, largest_of=near if noise else 1
    )


def final_travel(track: tuple[Reading, ...], ended: Instant | None, step: float, note: str = _NOTE) -> Figure:
    """
    Where travel came to rest: the mean of the last readings, of those after its motion only.

    Args:
        track: Travel.

        ended: The end of motion, where it was seen.

        step: One count of the register, in fractions of travel; 0 where there is none.

        note: What a reader has to know.
    """
    from_ns = 0 if ended is None else ended.latest_ns
    still = [reading for reading in track[-_TAIL_READINGS:] if reading.at_ns > from_ns]
    last = still if len(still) > 1 else track[-2:]
    mean, noise = mean_and_noise(last)
    lines = [readings("scatter of the last readings", [one.value for one in last])] if len(last) > 1 else []
    if noise <= step / 2:  # else the last digit is in the scatter already, and averaged with it
        lines.append(resolution("last digit of the register", step))
    return Budget(tuple(lines)).figure("final_travel", mean, "1", METHOD, note=note)
