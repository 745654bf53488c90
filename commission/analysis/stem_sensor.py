"""
The stem against the unit's own position sensor: slope of the sensor, lost motion between them, a key that has sheared.

From the points of a span test, where the valve stands still, somebody reads the stem's scale from outside the guard,
and the unit's travel is kept beside it. A sensor on the actuator strokes perfectly over a valve that stands still, so
nothing but the stem itself proves the valve (trade guide 3.4, rows 38 and 39).
"""

import math
from collections.abc import Sequence

from commission.analysis.budget import Budget, Line, readings, resolution, student
from commission.analysis.line_fit import fit_line
from commission.analysis.span import SpanObserved, SpanReading
from commission.figure import Figure

METHOD = "stem_sensor.points/1"
SLOPE = "sensor_slope_ratio"
LOST_MOTION = "lost_motion"

LEAST_POINTS = 3
LEAST_WAY = 0.2
"""Points spread over less than a fifth of travel tell nothing of a slope."""

SHEARED_SHARE = 0.1
"""A stem that goes by less than a tenth of what the sensor does is not driven by it (common practice, no source)."""

Both = tuple[SpanReading, float]


def stem_sensor_figures(observed: SpanObserved) -> tuple[Figure, ...]:
    """
    Travel by the sensor for each unit of stem, and how far the stem lags at a reversal; each where it was seen.

    Args:
        observed: The points of a span test.
    """
    both = _both(observed.readings)
    found: list[Figure] = []
    stems = [reading.stem for reading, _ in both]
    if len(both) >= LEAST_POINTS and max(stems) - min(stems) >= LEAST_WAY:
        fit = fit_line(stems, [travel for _, travel in both])
        lines = (
            student("scatter about the line", fit.slope_standard, fit.freedom),
            resolution("stem scale", observed.meter.stem_step, fit.slope / math.sqrt(fit.spread)),
        )
        note = f"sensor over stem, {len(both)} points; 1 where both agree"
        found.append(Budget(lines).figure(SLOPE, fit.slope, "1", METHOD, note=note))
    lags = _lags(both)
    if lags:
        found.append(_lost_motion(lags, observed.meter.stem_step))
    return tuple(found)


def stem_faults(observed: SpanObserved) -> tuple[str, ...]:
    """That the sensor moves and the stem does not, in words; empty where it follows."""
    both = _both(observed.readings)
    if len(both) < 2:
        return ()
    sensor_way = max(travel for _, travel in both) - min(travel for _, travel in both)
    stem_way = max(reading.stem for reading, _ in both) - min(reading.stem for reading, _ in both)
    if sensor_way < LEAST_WAY or stem_way >= SHEARED_SHARE * sensor_way:
        return ()
    ways = f"the sensor went over {sensor_way * 100:.0f} % of travel and the stem over {stem_way * 100:.1f} %"
    return (f"{ways}: key or stem sheared, or a coupling that slips; the valve does not follow",)


def _both(found: Sequence[SpanReading]) -> list[Both]:
    return [(reading, reading.travel) for reading in found if reading.travel is not None]


def _lags(both: Sequence[Both]) -> list[float]:
    """For each point that was approached from both sides: how much farther open the stem stands coming down."""
    ahead: dict[tuple[float, int, bool], float] = {
        (reading.point_pct, reading.cycle, reading.up): reading.stem - travel for reading, travel in both
    }
    return [
        ahead[point, cycle, False] - up
        for (point, cycle, upwards), up in ahead.items()
        if upwards and (point, cycle, False) in ahead and 0 < point < 100
    ]


def _lost_motion(lags: Sequence[float], stem_step: float) -> Figure:
    share = 1 / math.sqrt(len(lags))
    lines: list[Line] = [
        resolution("stem scale, up", stem_step, share),
        resolution("stem scale, down", stem_step, share),
    ]
    if len(lags) > 1:
        lines.append(readings("point to point", lags))
    mean = math.fsum(lags) / len(lags)
    note = f"stem against sensor at {len(lags)} point(s), down less up"
    return Budget(tuple(lines)).figure(LOST_MOTION, mean, "1", METHOD, note=note)
