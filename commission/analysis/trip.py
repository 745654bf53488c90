"""
A pressure trip as the sheet has it, and the two moments of it: past the trip point, and tripped.

The crossing lies between the last reading that is surely inside and the first that is surely past, where *surely* is by
the trip point's tolerance: so the slope of the step is in its uncertainty.
"""

from collections.abc import Sequence
from enum import StrEnum

import msgspec

from commission.analysis.decision import Limits
from commission.analysis.edges import first_change
from commission.analysis.intervals import Instant, between
from commission.sheet import Sheet
from commission.sheet.decode import Reading, Readings

STEP_SHARE = 5
"""A step is at most the tolerance over this (safety rule R24)."""

HELD = 2.0
"""A step is held this many delays (safety rule R24)."""

LEAST_DELAY_TOLERANCE_S = 0.5
"""A delay may be off by this much at least (common practice, no source)."""

PRESSURE = "pipeline_pressure"
PA_PER_BAR = 1e5


class Side(StrEnum):
    """Which trip."""

    HIGH = "high"
    LOW = "low"


class NoTrip(Exception):  # the trade's word, not a fault of the program
    """Nothing tripped in a way that a figure could be made of; the message says why: it is no test."""


class TripSet(msgspec.Struct, frozen=True, kw_only=True):
    """
    One trip as the sheet has it.

    Args:
        side: High or low.

        point_pa: Trip point, gauge.

        delay_s: How long the pressure must stay past it.

        tolerance_pa: How far the trip point may be off.

        delay_tolerance_s: How far the delay may be off.

        scan_s: The unit's scan time.
    """

    side: Side
    point_pa: float
    delay_s: float
    tolerance_pa: float
    delay_tolerance_s: float
    scan_s: float

    @property
    def sign(self) -> float:
        """1 where a rising pressure trips, -1 where a falling one does."""
        return 1.0 if self.side is Side.HIGH else -1.0

    @property
    def alarm(self) -> str:
        """Role of its bit."""
        return f"alarm_{self.side}_trip"

    @property
    def step_pa(self) -> float:
        """The largest step of its staircase."""
        return self.tolerance_pa / STEP_SHARE

    @property
    def scan_ns(self) -> int:
        """The unit's scan time."""
        return round(self.scan_s * 1e9)

    def past(self, pressure_pa: float) -> float:
        """How far a pressure is past the trip point, in Pa; negative where it is inside."""
        return self.sign * (pressure_pa - self.point_pa)

    def at(self, past_pa: float) -> float:
        """The pressure that is so far past the trip point."""
        return self.point_pa + self.sign * past_pa


def trip_set(sheet: Sheet, side: Side) -> TripSet:
    """
    A trip as the sheet has it.

    Raises:
        ValueError: the unit has no pressure monitor.
    """
    monitor = sheet.monitor
    if monitor is None:
        raise ValueError("the sheet has no pressure monitor")
    high = side is Side.HIGH
    delay_s = monitor.high_delay_s if high else monitor.low_delay_s
    return TripSet(
        side=side,
        point_pa=(monitor.high_trip_bar if high else monitor.low_trip_bar) * PA_PER_BAR,
        delay_s=delay_s,
        tolerance_pa=monitor.tolerance_pct / 100 * monitor.range_bar * PA_PER_BAR,
        delay_tolerance_s=max(LEAST_DELAY_TOLERANCE_S, monitor.delay_tolerance_pct / 100 * delay_s),
        scan_s=sheet.link.scan_s,
    )


def delay_limits(trip: TripSet) -> Limits:
    """Limits of the delay, in seconds."""
    low, high = trip.delay_s - trip.delay_tolerance_s, trip.delay_s + trip.delay_tolerance_s
    return Limits(f"{max(0.0, low):g}", f"{high:g}")


def point_limits(trip: TripSet) -> Limits:
    """Limits of the trip point, in Pa."""
    return Limits(f"{trip.point_pa - trip.tolerance_pa:.0f}", f"{trip.point_pa + trip.tolerance_pa:.0f}")


def crossing(track: Sequence[Reading], trip: TripSet, *, back: bool = False) -> Instant | None:
    """
    When the pressure went past the trip point, or came back inside; None where it did not surely do so.

    Args:
        track: Readings of the monitor's pressure.

        trip: The trip.

        back: The way back inside.
    """
    way = -1.0 if back else 1.0
    before: Reading | None = None
    for reading in track:
        past = way * trip.past(reading.value)
        if past < -trip.tolerance_pa:
            before = reading
        elif past >= trip.tolerance_pa and before is not None:
            return between(before, reading, trip.scan_ns)
    return None


def track_of(seen: Sequence[Readings], role: str) -> tuple[Reading, ...]:
    """All readings of one role, in order."""
    return tuple(reading for item in seen if (reading := item.get(role)) is not None)


def tripped_at(seen: Sequence[Readings], trip: TripSet) -> Instant | None:
    """When the trip's bit came; None where it did not, or was there from the beginning."""
    return first_change(track_of(seen, trip.alarm), bool, trip.scan_ns, "the trip, across a gap")
