"""
What a stroke says of its load: the pressure that breaks the valve away, and those that keep it moving.

Pressure against travel tells friction from spring and both from a needle, which time alone does not. The running
pressures are taken where travel passes a quarter, half and three quarters, so that an opening and a closing stroke can
be laid upon each other (`pairs`). Each figure carries its budget, with the transmitter's own error in it where the
sheet gives one.
"""

import math
from collections.abc import Sequence

from commission.analysis import edges, motion
from commission.analysis.budget import Budget, Line, normal, rectangular, student
from commission.analysis.intervals import Instant, half_width_ns
from commission.analysis.motion import fit_ramp
from commission.analysis.observed import StrokeObserved
from commission.analysis.quantiles import two_sided_normal
from commission.analysis.transmitter import OWN_ERROR, instrument_lines
from commission.figure import Figure
from commission.sheet import Sheet
from commission.sheet.decode import Reading

METHOD = "loads.stroke/1"

PLACES = (0.25, 0.5, 0.75)
"""Shares of travel, counted from closed, at which the running pressure is taken."""

NO_OWN_ERROR = "the sheet does not give the transmitter's own error: it is not in the uncertainty"

_REACH = 0.05
_FAR_REACH = 0.2
_BENDS_ON = 1.5
"""As in `extremes`: without this, 93 % of strokes of a few readings are covered."""

_LEAST_READINGS = 4
_FEW_READINGS = 7
_MOST_READINGS = 41


def load_figures(observed: StrokeObserved, sheet: Sheet, breakaway: Figure | None) -> tuple[Figure, ...]:
    """
    Breakaway and running pressures of one stroke, in pascals; each only where it was seen.

    Args:
        observed: The stroke.

        sheet: For scan, register and transmitter.

        breakaway: The pressure at first motion, as the readings show it (`extremes`); None where it was not seen.
    """
    pressure = observed.track("cylinder_pressure")
    travel = observed.track("travel")
    instrument = instrument_lines(sheet, "cylinder_pressure")
    found = [] if breakaway is None else [_breakaway(breakaway, instrument)]
    if len(pressure) < _LEAST_READINGS or len(travel) < _LEAST_READINGS:
        return tuple(found)
    scan_ns = round(sheet.link.scan_s * 1e9)
    for place in PLACES:
        lines_and_value = pressure_at(place, pressure, travel, scan_ns)
        if lines_and_value is not None:
            value, lines = lines_and_value
            name = f"running_pressure_{place * 100:.0f}_pct"
            found.append(_figure(name, value, (*lines, *instrument)))
    return tuple(found)


def pressure_at(
    place: float, pressure: tuple[Reading, ...], travel: tuple[Reading, ...], scan_ns: int
) -> tuple[float, tuple[Line, ...]] | None:
    """
    The pressure where travel passes `place`, and what is uncertain about it; None where it was not seen to pass.

    A line through the readings within 5 % of travel around it (on a slow line the nearest within 20 %), at the moment
    of passing: its scatter is the noise, its slope times the doubt about that moment the rest, and what a parabola
    says other than the line is its bend.

    Args:
        place: Share of full travel, from closed.

        pressure: Cylinder pressure, Pa.

        travel: Travel as a fraction, from closed; opening or closing.

        scan_ns: The unit's scan time.
    """
    rising = travel if travel[-1].value > travel[0].value else _mirrored(travel)
    level = place if rising is travel else 1 - place
    passing = edges.level_crossing(rising, level, motion.travel_noise(rising), scan_ns)
    if passing is None or passing.note:
        return None
    # Pressure and travel are read together, half a scan old both: the moment is put where the readings are.
    at_ns = passing.at_ns + scan_ns // 2
    near = _around(pressure, rising, level, at_ns)
    if len(near) < _LEAST_READINGS:
        return None
    ramp = fit_ramp(near)
    value = ramp.mean_value + ramp.slope * (at_ns - ramp.mean_at_ns)
    weight = 1 / ramp.count + (at_ns - ramp.mean_at_ns) ** 2 / ramp.spread_ns2
    lines = [student("scatter about the line", ramp.residual * math.sqrt(weight), ramp.count - 2)]
    bend = _BENDS_ON * abs(_on_parabola(near, at_ns) - value)
    if bend:
        lines.append(rectangular("bend of the curve", bend))
    doubt = abs(ramp.slope) * _reach_ns(passing, near) / two_sided_normal()
    if doubt:
        lines.append(normal("when travel passed there", doubt))
    return value, tuple(lines)


def _around(pressure: Sequence[Reading], rising: Sequence[Reading], level: float, at_ns: int) -> list[Reading]:
    """Pressure readings of the time in which travel is near the level: within 5 %, or the few nearest within 20 %."""
    near = _within(pressure, rising, level, _REACH)
    enough = _MOST_READINGS
    if len(near) < _FEW_READINGS:
        near, enough = _within(pressure, rising, level, _FAR_REACH), _FEW_READINGS
    near.sort(key=lambda reading: (abs(reading.at_ns - at_ns), reading.at_ns))
    return sorted(near[:enough], key=lambda reading: reading.at_ns)


def _within(pressure: Sequence[Reading], rising: Sequence[Reading], level: float, reach: float) -> list[Reading]:
    inside = [reading.at_ns for reading in rising if abs(reading.value - level) <= reach]
    return [reading for reading in pressure if inside[0] <= reading.at_ns <= inside[-1]] if inside else []


def _on_parabola(near: Sequence[Reading], at_ns: int) -> float:
    """The least-squares parabola through the readings; its matrix of three by three is solved as it stands."""
    span_ns = near[-1].at_ns - near[0].at_ns
    places = [(reading.at_ns - at_ns) / span_ns for reading in near]
    values = [reading.value - near[0].value for reading in near]
    s = [math.fsum(place**power for place in places) for power in range(5)]
    t = [math.fsum(value * place**power for place, value in zip(places, values, strict=True)) for power in range(3)]
    minors = (s[2] * s[4] - s[3] ** 2, s[1] * s[4] - s[2] * s[3], s[1] * s[3] - s[2] ** 2)
    determinant = math.fsum((s[0] * minors[0], -s[1] * minors[1], s[2] * minors[2]))
    at_place = math.fsum((t[0] * minors[0], -t[1] * minors[1], t[2] * minors[2]))
    return near[0].value + at_place / determinant


def _reach_ns(passing: Instant, near: Sequence[Reading]) -> int:
    reading_ns = 2 * max(reading.half_width_ns for reading in near)
    return half_width_ns((*passing.widths_ns, reading_ns), passing.noise_ns)


def _mirrored(travel: tuple[Reading, ...]) -> tuple[Reading, ...]:
    return tuple(Reading(1 - r.value, r.at_ns, r.half_width_ns) for r in travel)


def _breakaway(at_start: Figure, instrument: tuple[Line, ...]) -> Figure:
    """The pressure at first motion, and the transmitter's own error; the last digit is in the readings' part."""
    spread = float(at_start.expanded_uncertainty) / two_sided_normal()
    own = tuple(line for line in instrument if line.name.startswith(OWN_ERROR))
    lines = (normal("readings in motion, carried to its first moment", spread), *own)
    return _figure("breakaway_pressure", at_start.unrounded, lines)


def _figure(name: str, value: float, lines: tuple[Line, ...]) -> Figure:
    known = any(line.name.startswith(OWN_ERROR) for line in lines)
    return Budget(lines).figure(name, value, "Pa", METHOD, note="" if known else NO_OWN_ERROR)


def as_lines(figure: Figure) -> tuple[Line, ...]:
    """
    The lines of a figure of this module, from the record: the transmitter's own error, and the rest as one line.

    Args:
        figure: A pressure with its budget, as it was stored.
    """
    own = [line for line in figure.budget if line.name.startswith(OWN_ERROR)]
    rest = [float(line.contribution) for line in figure.budget if not line.name.startswith(OWN_ERROR)]
    found = [normal("readings", math.sqrt(math.fsum(one * one for one in rest)))] if any(rest) else []
    return (*found, *(rectangular(line.name, float(line.width)) for line in own))
