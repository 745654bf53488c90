"""
From readings alone: does the valve stand still, which way does it go, and for how long has it been at rest?

The answer of a write proves little (safety rule R12): only another point that changed does. The valve is at rest when
the motor has stopped, where the unit shows it, and travel stands still; on a unit without travel, when the same end
limit has been made for as long.
"""

from collections import deque

from commission.clock import NS_PER_S
from commission.sheet.decode import Readings

WINDOW_NS = NS_PER_S // 2
"""Travel is compared over this much unit time."""

STILL = 0.003
"""Less travel than this in a window is standing still: noise of a sensor in good order is within 0.2 % (trade guide
H3), and the slowest pump stroke makes more than this only where the motor bit tells."""


class RestWatch:
    """Remembers the readings of the last moments."""

    def __init__(self) -> None:
        self._places: deque[tuple[int, float]] = deque()
        self._motor_running: bool | None = None
        self._rest_from_ns: int | None = None

    def see(self, readings: Readings) -> None:
        """Take the next readings."""
        self._motor_running = readings.bit("motor_running")
        place = _place(readings)
        if place is None:
            self._places.clear()
        else:
            self._places.append((readings.at_ns, place))
            while len(self._places) > 2 and self._places[1][0] <= readings.at_ns - WINDOW_NS:
                self._places.popleft()
        if not self.at_rest:
            self._rest_from_ns = None
        elif self._rest_from_ns is None:
            self._rest_from_ns = self._places[0][0]

    def forget(self) -> None:
        """Start anew, so that what is seen from here is after the command."""
        self._places.clear()
        self._motor_running = None
        self._rest_from_ns = None

    @property
    def travel_still(self) -> bool | None:
        """Whether travel has stood still for a window; None where that cannot be said yet."""
        if len(self._places) < 2 or self._places[-1][0] - self._places[0][0] < WINDOW_NS:
            return None
        values = [value for _, value in self._places]
        return max(values) - min(values) < STILL

    @property
    def at_rest(self) -> bool:
        """Whether the valve is seen at rest: travel still, and the motor stopped where the unit shows it."""
        return bool(self.travel_still) and self._motor_running is not True

    @property
    def rest_s(self) -> float:
        """For how much unit time it has been seen at rest."""
        if self._rest_from_ns is None:
            return 0.0
        return (self._places[-1][0] - self._rest_from_ns) / NS_PER_S

    @property
    def heading(self) -> int:
        """Which way travel has gone in the last window: 1 opening, -1 closing, 0 neither or not known."""
        if self.travel_still is not False:
            return 0
        moved = self._places[-1][1] - self._places[0][1]
        return 0 if abs(moved) < STILL else 1 if moved > 0 else -1


def _place(readings: Readings) -> float | None:
    """Travel, or the end whose limit alone is made, or None where the unit does not show where the valve is."""
    travel = readings.value("travel")
    if travel is not None:
        return travel
    opened, closed = readings.bit("open_limit"), readings.bit("closed_limit")
    return None if opened == closed else float(bool(opened))
