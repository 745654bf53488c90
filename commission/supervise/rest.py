"""
From readings alone: is the valve at rest, and has a stop been received?

The answer of a write proves little (safety rule R12): only another point that changed does. A stop is received when the
motor has stopped, where the unit shows it, and travel stands still.
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
        self._travel: deque[tuple[int, float]] = deque()
        self._motor_running: bool | None = None

    def see(self, readings: Readings) -> None:
        """Take the next readings."""
        self._motor_running = readings.bit("motor_running")
        travel = readings.get("travel")
        if travel is None:
            return
        self._travel.append((travel.at_ns, travel.value))
        while len(self._travel) > 2 and self._travel[1][0] <= travel.at_ns - WINDOW_NS:
            self._travel.popleft()

    def forget(self) -> None:
        """Start anew, so that what is seen from here is after the command."""
        self._travel.clear()
        self._motor_running = None

    @property
    def travel_still(self) -> bool | None:
        """Whether travel has stood still for a window; None where that cannot be said yet."""
        if len(self._travel) < 2 or self._travel[-1][0] - self._travel[0][0] < WINDOW_NS:
            return None
        values = [value for _, value in self._travel]
        return max(values) - min(values) < STILL

    @property
    def at_rest(self) -> bool:
        """Whether the valve is seen at rest: travel still, and the motor stopped where the unit shows it."""
        return bool(self.travel_still) and self._motor_running is not True
