"""The unit in real time: catches the unit up with the clock, and knows how long nobody has asked."""

from commission.clock import NS_PER_S, Clock
from commission.practice.unit import PracticeUnit


class Lifetime:
    """
    One unit living by one clock.

    Args:
        unit: The unit.

        clock: Its wire time and unit time.
    """

    def __init__(self, unit: PracticeUnit, clock: Clock) -> None:
        self.unit = unit
        self.clock = clock
        self._lived_to_ns = clock.unit_ns()
        self._asked_ns = clock.wire_ns()
        self._ever_asked = False

    def catch_up(self) -> None:
        """Let the unit live until now."""
        now_ns = self.clock.unit_ns()
        if not self.unit.side.link_cut:  # with its lead out the unit counts by itself, in its own time
            self.unit.link_silent_s = self.silent_s if self._ever_asked else 0.0
        self.unit.advance_ns(max(0, now_ns - self._lived_to_ns))
        self._lived_to_ns = max(now_ns, self._lived_to_ns)

    def looked_at(self) -> None:
        """Somebody stands beside a unit that no link reads: it lives until now, and is not alone."""
        self.asked()
        self.catch_up()

    def asked(self) -> None:
        """A request for this unit came in."""
        self._asked_ns = self.clock.wire_ns()
        self._ever_asked = True

    @property
    def silent_s(self) -> float:
        """Wire time since the last request, or since the start."""
        return (self.clock.wire_ns() - self._asked_ns) / NS_PER_S
