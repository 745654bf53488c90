"""
A trip point by staircase or ramp (safety rule R24), with the step's width, noise and the reference gauge in its budget.

While the pressure changed by at most a fifth of the tolerance within twice the delay before the trip, the trip point
lies between the levels at both ends of that time. A staircase whose steps are each held twice the delay meets that, and
so does a ramp of a tenth of the tolerance in a delay. What does not is no test.
"""

import math
from collections.abc import Iterator, Sequence
from itertools import combinations

import msgspec

from commission.analysis.budget import Budget, Line, normal, rectangular
from commission.analysis.cycle_doubt import rivals
from commission.analysis.edges import scatter
from commission.analysis.gauge import Gauge
from commission.analysis.trip import HELD, PA_PER_BAR, PRESSURE, NoTrip, Side, TripSet, track_of, trip_set
from commission.figure import Figure
from commission.sheet import Sheet
from commission.sheet.decode import Readings

METHOD = "trip.point/2"
POINT = "trip_point"
_LEVEL_READINGS = 3


class Approach(msgspec.Struct, frozen=True, kw_only=True):
    """
    One slow approach to a trip.

    Args:
        seen: Twice the delay before the trip, and the trip.

        gauge_bar: The reference gauge at the level at which it tripped.

        reading_pa: The monitor's own reading while the gauge was read.
    """

    seen: tuple[Readings, ...]
    gauge_bar: float
    reading_pa: float


class TripPointSeen(msgspec.Struct, frozen=True, kw_only=True):
    """
    What was seen of a trip point.

    Args:
        test: Names the run.

        side: Which trip.

        gauge: What it was read with.

        approaches: Those that count, in order.

        reached_pa: How far it went where nothing tripped; None where it tripped.

        no_tests: What was wrong with approaches that do not count.

        why: Why there is no more.
    """

    test: str
    side: Side
    gauge: Gauge
    approaches: tuple[Approach, ...] = ()
    reached_pa: float | None = None
    no_tests: tuple[str, ...] = ()
    why: str = ""
    commanded_by: str = "people at the unit"

    @property
    def timed_by(self) -> str:
        """What it was read with."""
        return f"the monitor's own reading against gauge {self.gauge.id} ({self.gauge.accuracy.text})"


class Levels(msgspec.Struct, frozen=True):
    """The levels at both ends of the time before a trip, and the standard deviation of each, in Pa."""

    first_pa: float
    last_pa: float
    noise_pa: float

    @property
    def middle_pa(self) -> float:
        """Half way between them."""
        return (self.first_pa + self.last_pa) / 2

    @property
    def change_pa(self) -> float:
        """From one to the other."""
        return abs(self.last_pa - self.first_pa)


def levels(seen: Sequence[Readings]) -> Levels | None:
    """The levels at both ends of what was seen of an approach; None where too little was."""
    values = [reading.value for reading in track_of(seen, PRESSURE)]
    if len(values) < 2 * _LEVEL_READINGS:
        return None
    ends = values[:_LEVEL_READINGS], values[-_LEVEL_READINGS:]
    noise = scatter(track_of(seen, PRESSURE)[: len(values) // 2]) / math.sqrt(_LEVEL_READINGS)
    return Levels(math.fsum(ends[0]) / _LEVEL_READINGS, math.fsum(ends[1]) / _LEVEL_READINGS, noise)


def why_no_test(seen: Sequence[Readings], trip: TripSet) -> str:
    """Why an approach that ended in a trip does not count (safety rule R24); empty where it does."""
    known = levels(seen)
    if known is None:
        return "too few readings before the trip"
    watched_s = (seen[-1].at_ns - seen[0].at_ns) / 1e9
    if watched_s < HELD * trip.delay_s:
        return f"only {watched_s:.1f} s were seen before the trip, not {HELD * trip.delay_s:g} s"
    most = trip.step_pa + 4 * known.noise_pa
    if known.change_pa > most:
        return (
            f"{known.change_pa / PA_PER_BAR:.2f} bar within {HELD * trip.delay_s:g} s of the trip: a step of at most "
            f"{trip.step_pa / PA_PER_BAR:g} bar, held {HELD * trip.delay_s:g} s, was wanted"
        )
    return ""


def point_figures(seen: TripPointSeen, sheet: Sheet) -> tuple[Figure, ...]:
    """
    The trip point of each approach, and of all together.

    Returns:
        `trip_point` (of the one farthest from its setting, with its uncertainty), then each, then their spread.

    Raises:
        NoTrip: no approach counts, and it did not go past the tolerance either.
    """
    trip = trip_set(sheet, seen.side)
    if not seen.approaches:
        if seen.reached_pa is None:
            raise NoTrip("; ".join((*seen.no_tests, seen.why)) or "nothing tripped")
        budget = Budget(seen.gauge.lines(seen.reached_pa / PA_PER_BAR))
        note = f"nothing tripped up to here: {seen.why}" if seen.why else "nothing tripped up to here"
        high = seen.side is Side.HIGH
        return (budget.figure("trip_point", seen.reached_pa, "Pa", METHOD, note=note, lower_bound_only=high),)
    found = [_point(one, seen.gauge) for one in seen.approaches]
    each = [
        budget.figure(f"trip_point_{number}", value, "Pa", METHOD)
        for number, (value, budget) in enumerate(found, start=1)
    ]
    farthest, budget = max(found, key=lambda one: abs(one[0] - trip.point_pa))
    note = "; ".join((f"farthest of {len(each)}", *(f"no test: {words}" for words in seen.no_tests)))
    near = rivals([abs(value - trip.point_pa) for value, _ in found], budget.expanded())
    judged = budget.figure("trip_point", farthest, "Pa", METHOD, note=note, largest_of=near)
    return (judged, *each, *_spread(seen, each))


def _point(approach: Approach, gauge: Gauge) -> tuple[float, Budget]:
    """By the gauge: what the monitor read, less how far it is off where the gauge was read."""
    known = levels(approach.seen)
    if known is None:
        raise NoTrip("too few readings before the trip")
    off_pa = approach.reading_pa - approach.gauge_bar * PA_PER_BAR
    lines: tuple[Line, ...] = (
        rectangular("step width", known.change_pa / 2),
        normal("noise of the levels", known.noise_pa / math.sqrt(2)),
        *gauge.lines(approach.gauge_bar),
    )
    return known.middle_pa - off_pa, Budget(lines)


def _spread(seen: TripPointSeen, each: Sequence[Figure]) -> Iterator[Figure]:
    """The largest difference of two approaches: the gauge's own error is in both, so it is not in this."""
    if len(each) < 2:
        return
    values = [figure.unrounded for figure in each]
    known = [found for one in seen.approaches if (found := levels(one.seen)) is not None]
    widest = max(known, key=lambda one: one.change_pa)
    one = (rectangular("step width", widest.change_pa / 2), normal("noise of the levels", widest.noise_pa))
    digit = seen.gauge.digit_line()
    budget = Budget((*one, *one, digit, digit))
    apart = [abs(first - second) for first, second in combinations(values, 2)]
    near = rivals(apart, budget.expanded())
    yield budget.figure("trip_spread", max(apart), "Pa", METHOD, largest_of=near)
