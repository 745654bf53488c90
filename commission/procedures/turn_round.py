"""
Safety rule R22: may the laptop turn this partial stroke round? Only where a sum says so, and the sum is kept.

However late the return comes, the valve must not pass its hard limit: it goes on at its fastest speed for the longest
silence that is tolerated, the longest that a command may take, and as long as it was seen to take to turn.
"""

import msgspec


class TurnRound(msgspec.Struct, frozen=True, kw_only=True):
    """
    The sum, with each part.

    Args:
        speed: Fastest speed that no guard would end, fraction of travel a second.

        gap_s: Longest silence that is tolerated, unit time.

        latency_s: Longest that a command takes to the unit, a waiting transaction included, unit time.

        reversal_s: From the return's arrival until travel turned, as it was measured by this path, or assumed.

        target: Fraction of travel that the stroke goes to.

        hard_limit: Fraction of travel that it must never pass.

        measured: Whether speed and reversal were measured.
    """

    speed: float
    gap_s: float
    latency_s: float
    reversal_s: float
    target: float
    hard_limit: float
    measured: bool = True

    @property
    def way(self) -> float:
        """How far the valve may still go after its target, at the worst."""
        return self.speed * (self.gap_s + self.latency_s + self.reversal_s)

    @property
    def room(self) -> float:
        """How far it may go."""
        return self.hard_limit - self.target

    @property
    def holds(self) -> bool:
        """Whether the partial stroke may be made."""
        return self.way < self.room

    def __str__(self) -> str:
        total_s = self.gap_s + self.latency_s + self.reversal_s
        source = "measured" if self.measured else "expected"
        return (
            f"{self.speed * 100:.2f} %/s ({source}) x {total_s:.2f} s"
            f" (silence {self.gap_s:.2f}, command {self.latency_s:.2f}, reversal {self.reversal_s:.2f})"
            f" = {self.way * 100:.1f} % {'is less than' if self.holds else 'is NOT less than'}"
            f" {self.hard_limit * 100:g} - {self.target * 100:g} = {self.room * 100:g} %"
        )
