"""
Average probability of failure on demand of the final element, with full and partial tests.

Help for who does the safety calculation, never a claim: every input carries the name of who gave it, no integrity level
follows from it, and it never goes into the as-left report (safety rule R26).
"""

import math

import msgspec

HOURS_PER_YEAR = 8760.0
LINEAR_UP_TO = 0.1
"""λT up to which the usual λT/2 is used; beyond it λT/2 may exceed 1, and the exact form is taken."""


class Given(msgspec.Struct, frozen=True):
    """A number, and who gave it."""

    value: float
    by: str

    def __post_init__(self) -> None:
        """A number that nobody stands behind is not used."""
        if not self.by.strip():
            raise ValueError("who gave this number?")


class FinalElement(msgspec.Struct, frozen=True, kw_only=True):
    """
    What the calculation needs to know of valve, actuator and solenoid together.

    Args:
        undetected_per_h: Rate of dangerous failures that nothing but a test reveals.

        full_interval_h: Between full-stroke proof tests.

        full_coverage: Share of those failures that the full test reveals; the rest stays for the whole life.

        life_h: From new, or from an overhaul that makes it as new.

        partial_interval_h: Between partial-stroke tests; None where there are none.

        partial_coverage: Share that the partial test reveals; part of what the full test reveals.

        detected_per_h: Rate of dangerous failures that diagnostics reveal at once.

        repair_h: Time to restore after a failure is found.

    Raises:
        ValueError: a share is out of its range, the partial test would reveal all that the full one does, or a time or
            rate is not above zero.
    """

    undetected_per_h: Given
    full_interval_h: Given
    full_coverage: Given
    life_h: Given
    partial_interval_h: Given | None = None
    partial_coverage: Given | None = None
    detected_per_h: Given | None = None
    repair_h: Given | None = None

    def __post_init__(self) -> None:
        """A partial test never replaces the full one."""
        if min(self.undetected_per_h.value, self.full_interval_h.value, self.life_h.value) <= 0:
            raise ValueError("rate, interval and life above zero")
        if not 0 < self.full_coverage.value <= 1:
            raise ValueError("coverage of the full test above 0, at most 1")
        if (self.partial_interval_h is None) != (self.partial_coverage is None):
            raise ValueError("a partial test needs its interval and its coverage")
        if self.partial_coverage is not None and not 0 <= self.partial_coverage.value < self.full_coverage.value:
            raise ValueError("a partial test reveals less than the full one")

    @property
    def shares(self) -> tuple[tuple[float, float], ...]:
        """Failure rate and test interval of each share of the failures, in failures an hour and hours."""
        rate, full = self.undetected_per_h.value, self.full_coverage.value
        partial = 0.0 if self.partial_coverage is None else self.partial_coverage.value
        interval = 0.0 if self.partial_interval_h is None else self.partial_interval_h.value
        return (
            (rate * partial, interval),
            (rate * (full - partial), self.full_interval_h.value),
            (rate * (1.0 - full), self.life_h.value),
        )

    def pfd_average(self) -> float:
        """
        Average probability of failure on demand.

        Sum over the shares; for shares whose λT is large an upper bound of the exact average.

        Source: IEC 61508-6, B.3.2.2.1 for one channel, λDU(T/2 + MTTR) + λDD·MTTR; with tests of different coverage in
        the form of ISA-TR96.05.01 (both from memory, recomputed).
        """
        repair_h = 0.0 if self.repair_h is None else self.repair_h.value
        detected = 0.0 if self.detected_per_h is None else self.detected_per_h.value
        waiting = math.fsum(average_unavailability(rate, interval_h) for rate, interval_h in self.shares)
        return waiting + (self.undetected_per_h.value + detected) * repair_h


def average_unavailability(rate_per_h: float, interval_h: float) -> float:
    """
    Mean share of an interval spent failed, for a constant rate and a test at its end.

    λT/2 while that is nearly exact, 1 − (1 − e^−λT)/λT beyond; never less for a longer interval, so that between the
    two it stays where the first one ended.
    """
    product = rate_per_h * interval_h
    if product <= LINEAR_UP_TO:
        return product / 2.0
    return max(LINEAR_UP_TO / 2.0, 1.0 + math.expm1(-product) / product)
