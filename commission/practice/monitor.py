"""
The pressure monitor: trips when the pipeline's pressure stays beyond a trip point for its delay, and stays tripped.

Rules. A pressure at or beyond a trip point runs that trip's delay; one scan back inside starts it anew. A trip latches,
through a loss of power too. It is reset at the unit only, and only while the pressure is back inside both points.
"""

from commission.practice.settings import Settings


class PressureMonitor:
    """
    High and low trip with their latches.

    Args:
        settings: Trip points and delays, read anew at every scan.
    """

    def __init__(self, settings: Settings) -> None:
        self._settings = settings
        self._high_s = 0.0
        self._low_s = 0.0
        self.high_latched = False
        self.low_latched = False

    @property
    def latched(self) -> bool:
        """Whether either trip is latched."""
        return self.high_latched or self.low_latched

    def scan(self, seconds: float, pressure_pa: float) -> None:
        """One scan, `seconds` after the one before."""
        self._high_s = self._high_s + seconds if self._is_high(pressure_pa) else 0.0
        self._low_s = self._low_s + seconds if self._is_low(pressure_pa) else 0.0
        if self._is_high(pressure_pa) and self._high_s > self._settings.trip_high_delay_s:
            self.high_latched = True
        if self._is_low(pressure_pa) and self._low_s > self._settings.trip_low_delay_s:
            self.low_latched = True

    def reset_locally(self, pressure_pa: float) -> bool:
        """Reset button of the monitor at the unit: whether it let go."""
        if self._is_high(pressure_pa) or self._is_low(pressure_pa):
            return False
        self.high_latched = self.low_latched = False
        return True

    def _is_high(self, pressure_pa: float) -> bool:
        return 0.0 < self._settings.trip_high_pa <= pressure_pa

    def _is_low(self, pressure_pa: float) -> bool:
        return self._settings.trip_low_pa > 0.0 and pressure_pa <= self._settings.trip_low_pa
