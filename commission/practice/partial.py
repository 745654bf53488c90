"""
The partial stroke that the unit runs by itself.

Rules. Out through the small bleed; at the target the bleed shuts and the pump brings the valve back. The guard acts on
travel or time, whichever comes first: bleed shut, back, alarm.
"""

from enum import StrEnum

from commission.practice.settings import Settings
from commission.sheet import Sheet


class Phase(StrEnum):
    """Where the partial stroke stands."""

    NONE = "none"
    OUT = "out"
    BACK = "back"


class PartialStroke:
    """
    One partial stroke at a time.

    Args:
        sheet: The target.

        settings: The guard, read anew at every scan.
    """

    def __init__(self, sheet: Sheet, settings: Settings) -> None:
        self._plan = sheet.partial_stroke
        self._settings = settings
        self.phase = Phase.NONE
        self._out_s = 0.0

    @property
    def offered(self) -> bool:
        """Whether this unit runs a partial stroke by itself."""
        return self._plan is not None and self._plan.turned_by == "unit"

    def start(self) -> None:
        """Open the bleed."""
        self.phase, self._out_s = Phase.OUT, 0.0

    def turn_back(self) -> None:
        """Shut the bleed and return, whatever was reached."""
        if self.phase is Phase.OUT:
            self.phase = Phase.BACK

    def end(self) -> None:
        """Home again, or something else has taken over."""
        self.phase = Phase.NONE

    def scan(self, seconds: float, travel_pct: float) -> bool:
        """One scan; True where the guard acted in it."""
        if self.phase is not Phase.OUT or self._plan is None:
            return False
        self._out_s += seconds
        beyond = travel_pct <= 100.0 * (1.0 - self._settings.partial_guard_travel)
        if beyond or self._out_s >= self._settings.partial_guard_time_s:
            self.turn_back()
            return True
        if travel_pct <= 100.0 - self._plan.target_pct:
            self.turn_back()
        return False
