"""
The first low trip as it was found, from the first vent (safety rule R24).

A vent is no staircase: the pressure falls all the time, so the trip point is taken a delay before the trip, and what it
can decide is as fine as the vent was slow.
"""

import math
from collections.abc import Sequence

import msgspec

from commission.analysis.budget import Budget, normal, rectangular, student
from commission.analysis.decision import Limits
from commission.analysis.motion import fit_ramp
from commission.analysis.trip import PA_PER_BAR, PRESSURE, NoTrip, Side, TripSet, track_of, trip_set, tripped_at
from commission.figure import Figure
from commission.sheet import Sheet
from commission.sheet.decode import Reading, Readings

METHOD = "trip.found/2"
FOUND = "found_trip_point"
RATE = "vent_rate"
_LEAST_READINGS = 6


class FoundSeen(msgspec.Struct, frozen=True, kw_only=True):
    """
    The first trip as it was found, from the first vent.

    Args:
        test: Names the run.

        side: Which trip.

        ready: What made the vent allowed, in words.

        seen: From before the vent to the trip.

        why: Why there is no trip.
    """

    test: str
    side: Side
    ready: str
    seen: tuple[Readings, ...] = ()
    why: str = ""
    commanded_by: str = "people at the unit"
    timed_by: str = "samples over the link"


def found_figures(found: FoundSeen, sheet: Sheet) -> tuple[Figure, ...]:
    """
    Where the trip was as found: the reading a delay before it came, the reading at the trip, how fast it went.

    A trip that did not come although the pressure went past its tolerance is a figure too: as far as it went.

    Raises:
        NoTrip: it was not seen to trip, nor to go so far.
    """
    trip = trip_set(sheet, found.side)
    acted = tripped_at(found.seen, trip)
    pressure = track_of(found.seen, PRESSURE)
    if acted is None:
        farthest = max((trip.past(reading.value) for reading in pressure), default=0.0)
        if farthest <= trip.tolerance_pa:
            raise NoTrip(found.why or "nothing tripped")
        note = f"nothing tripped up to here. {found.ready}"
        return (Budget(()).figure(FOUND, trip.at(farthest), "Pa", METHOD, note=note),)
    back_s = trip.delay_s
    line = _fitted(pressure, acted.at_ns - 2 * back_s * 1e9, acted.at_ns)
    if line is None:
        raise NoTrip("too few readings before the trip")
    rate, at_trip, noise = line.rate, line.at_end, line.noise
    known = sum(acted.widths_ns) / 2e9
    lines = (normal("noise of the reading", noise), rectangular("when it tripped", abs(rate) * known))
    point = at_trip - rate * back_s
    of_rate = (student("noise about the line", line.rate_noise, line.count - 2),)
    note = f"{abs(rate) / PA_PER_BAR:.2f} bar/s; the reading {back_s:g} s before the trip. {found.ready}"
    return (
        Budget(lines).figure(FOUND, point, "Pa", METHOD, note=note),
        Budget(lines).figure("reading_at_trip", at_trip, "Pa", METHOD),
        Budget(of_rate).figure(RATE, rate, "Pa/s", METHOD),
    )


def found_limits(figures: Sequence[Figure], trip: TripSet) -> Limits:
    """A first vent decides as well as its rate lets it: the delay's own tolerance is pressure there."""
    rate = next((abs(figure.unrounded) for figure in figures if figure.name == RATE), 0.0)
    room = trip.tolerance_pa + rate * trip.delay_tolerance_s
    low, high = (round(trip.point_pa + way * room, -3) for way in (-1, 1))  # to a hundredth of a bar
    return Limits(f"{low:.0f}", f"{high:.0f}")


class _Line(msgspec.Struct, frozen=True):
    """A straight line through part of a track, in Pa and seconds."""

    rate: float
    at_end: float
    noise: float
    rate_noise: float
    count: int


def _fitted(track: Sequence[Reading], from_ns: float, to_ns: float) -> _Line | None:
    """The least-squares line; None with too few readings (JCGM 100:2008, H.3)."""
    part = [reading for reading in track if from_ns <= reading.at_ns <= to_ns]
    if len(part) < _LEAST_READINGS:
        return None
    ramp = fit_ramp(part)
    at_end = ramp.mean_value + ramp.slope * (to_ns - ramp.mean_at_ns)
    rate_noise = ramp.residual / math.sqrt(ramp.spread_ns2)
    return _Line(ramp.slope * 1e9, at_end, ramp.residual, rate_noise * 1e9, ramp.count)
