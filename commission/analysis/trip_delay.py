"""
The delay of a pressure trip, and a pulse shorter than it (safety rule R24: the delay comes before the trip point).

A step well past the limit; from the crossing to the trip. The pulse must not trip; where it does, its own length is
what is judged against the least delay.
"""

from collections.abc import Iterator, Sequence

import msgspec

from commission.analysis.decision import Limits
from commission.analysis.durations import duration_figure
from commission.analysis.intervals import Instant, duration_s
from commission.analysis.trip import (
    PA_PER_BAR,
    PRESSURE,
    NoTrip,
    Side,
    TripSet,
    crossing,
    track_of,
    trip_set,
    tripped_at,
)
from commission.figure import Figure, make_figure
from commission.sheet import Sheet
from commission.sheet.decode import Readings

METHOD = "trip.delay/1"
DELAY = "trip_delay"
TRIPPING = "tripping_pulse_time"


class DelaySeen(msgspec.Struct, frozen=True, kw_only=True):
    """
    What was seen of a delay.

    Args:
        test: Names the run.

        side: Which trip.

        step: From before the step until the trip.

        pulse: From before the pulse until a delay after it, or the trip; empty where none was made.

        why: Why there is no more.
    """

    test: str
    side: Side
    step: tuple[Readings, ...] = ()
    pulse: tuple[Readings, ...] = ()
    why: str = ""
    commanded_by: str = "people at the unit"
    timed_by: str = "samples over the link"


def delay_figures(seen: DelaySeen, sheet: Sheet) -> tuple[Figure, ...]:
    """
    The delay, and how long the pulse was.

    Returns:
        `trip_delay`, and `pulse_time`, or `tripping_pulse_time` where that pulse tripped it.

    A trip that did not come is "at least" what was waited for it.

    Raises:
        NoTrip: there was no step past the limit.
    """
    trip = trip_set(sheet, seen.side)
    pressure = track_of(seen.step, PRESSURE)
    crossed, acted = crossing(pressure, trip), tripped_at(seen.step, trip)
    if crossed is None:
        raise NoTrip(seen.why or "the step did not go well past the limit")
    if acted is None:
        waited_s = (pressure[-1].at_ns - crossed.latest_ns) / 1e9
        return (make_figure(DELAY, waited_s, 0.0, "s", METHOD, lower_bound_only=True, note="no trip: at least this"),)
    known = f"trip point within ±{trip.tolerance_pa / PA_PER_BAR:g} bar while it was crossed"
    return (
        duration_figure(DELAY, crossed, acted, METHOD, note=known, called=("crossing", "trip")),
        *_pulse(seen.pulse, trip),
    )


def pulse_seen(seen: Sequence[Readings], trip: TripSet) -> tuple[float, float] | None:
    """How long a pulse was past the limit and the half-width of that, in seconds; None where it was not seen whole."""
    moments = _pulse_moments(seen, trip)
    return None if moments is None else duration_s(*moments)


def _pulse_moments(seen: Sequence[Readings], trip: TripSet) -> tuple[Instant, Instant] | None:
    pressure = track_of(seen, PRESSURE)
    up, down = crossing(pressure, trip), crossing(pressure, trip, back=True)
    return None if up is None or down is None or down.at_ns <= up.at_ns else (up, down)


def _pulse(seen: Sequence[Readings], trip: TripSet) -> Iterator[Figure]:
    moments = _pulse_moments(seen, trip)
    if moments is not None:
        tripped = any(item.bit(trip.alarm) for item in seen)
        yield duration_figure(TRIPPING if tripped else "pulse_time", *moments, METHOD)


def pulse_limits(trip: TripSet) -> Limits:
    """A pulse that trips must have been as long as the least delay that passes."""
    return Limits(low=f"{max(0.0, trip.delay_s - trip.delay_tolerance_s):g}")
