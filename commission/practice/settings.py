"""The settings that the control unit holds, as they stand in its holding registers."""

import msgspec

from commission.practice.condition import Condition
from commission.practice.mechanism import PA_PER_BAR
from commission.sheet import Sheet

SETTING_ROLES = {
    "run_limit": "run_limit_s",
    "starts_allowed": "starts_allowed",
    "starts_window": "starts_window_s",
    "travel_timeout_open": "travel_timeout_open_s",
    "travel_timeout_close": "travel_timeout_close_s",
    "trip_high": "trip_high_pa",
    "trip_low": "trip_low_pa",
    "trip_high_delay": "trip_high_delay_s",
    "trip_low_delay": "trip_low_delay_s",
    "partial_guard_travel": "partial_guard_travel",
    "partial_guard_time": "partial_guard_time_s",
    "deviation_limit": "deviation_share",
    "deviation_time": "deviation_s",
}
"""Field of `Settings` for each setting role; a field's unit is its role's."""


class Settings(msgspec.Struct, kw_only=True):
    """The settings in force now; `pressing_opens` says which of the two travel times is the pump's."""

    run_limit_s: float
    starts_allowed: float
    starts_window_s: float
    travel_timeout_open_s: float
    travel_timeout_close_s: float
    trip_high_pa: float = 0.0
    trip_low_pa: float = 0.0
    trip_high_delay_s: float = 0.0
    trip_low_delay_s: float = 0.0
    partial_guard_travel: float = 1.0
    partial_guard_time_s: float = 0.0
    deviation_share: float = 0.0
    deviation_s: float = 0.0
    pressing_opens: bool = True

    @property
    def pressing_timeout_s(self) -> float:
        """Time-out of the stroke that oil drives."""
        return self.travel_timeout_open_s if self.pressing_opens else self.travel_timeout_close_s

    @property
    def yielding_timeout_s(self) -> float:
        """Time-out of the stroke that the spring drives."""
        return self.travel_timeout_close_s if self.pressing_opens else self.travel_timeout_open_s

    def value(self, role: str) -> float:
        """The setting with this role, in the role's unit."""
        return float(getattr(self, SETTING_ROLES[role]))

    def change(self, role: str, value: float) -> None:
        """
        Set the setting with this role, in the role's unit.

        Raises:
            ValueError: a limit or a window of nothing, which no protection can be set to.
        """
        if value <= 0.0 and "delay" not in role:
            raise ValueError(f"{role} must be above 0")
        setattr(self, SETTING_ROLES[role], value)


def settings_of(sheet: Sheet, condition: Condition) -> Settings:
    """The settings as found: the sheet's, but for a planted finding."""
    protections, monitor = sheet.protections, sheet.monitor
    settings = Settings(
        run_limit_s=protections.run_limit_s if condition.run_limit_s is None else condition.run_limit_s,
        starts_allowed=protections.starts_allowed,
        starts_window_s=protections.starts_window_min * 60,
        travel_timeout_open_s=protections.travel_timeout_open_s,
        travel_timeout_close_s=protections.travel_timeout_close_s,
        deviation_share=(protections.deviation_pct or 0.0) / 100,
        deviation_s=protections.deviation_s or 0.0,
        pressing_opens=sheet.actuator.pressure_opens,
    )
    if sheet.partial_stroke is not None:
        settings.partial_guard_travel = sheet.partial_stroke.guard_travel_pct / 100
        settings.partial_guard_time_s = sheet.partial_stroke.guard_time_s
    if monitor is not None:
        settings.trip_high_pa = monitor.high_trip_bar * PA_PER_BAR
        settings.trip_low_pa = monitor.low_trip_bar * PA_PER_BAR
        settings.trip_high_delay_s = monitor.high_delay_s
        settings.trip_low_delay_s = monitor.low_delay_s
        if condition.low_trip_delay_s is not None:
            settings.trip_low_delay_s = condition.low_trip_delay_s
    return settings
