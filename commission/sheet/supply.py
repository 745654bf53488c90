"""What feeds a unit, and what its surroundings ask of it: electrical supply, ambient range, heater."""

from typing import Annotated, Literal

import msgspec

from commission.sheet.bounds import NonNegative, Positive


class Supply(msgspec.Struct, frozen=True, kw_only=True):
    """
    Electrical supply of motor and control.

    Args:
        motor_v: At the motor; between lines for three phases.

        phases: Of the motor's supply; `DC` for direct current.

        frequency_hz: Of an alternating supply.

        power_kw: At the motor's shaft, rated.

        rated_a: The motor's rated current, which its overload is set by.

        running_a: At `running_at_bar`.

        control_v: Of the control unit, direct current.

        cable_m: From the isolator to the motor, one way.

        cable_mm2: Copper cross-section of one core of that cable.

        cable_awg: Size of one core instead, American wire gauge, stranded copper.

        lowest_v: Least volts at the motor with which a stroke is still a legitimate one.

        unbalance_pct: Largest voltage unbalance the motor may run at.

        depth_of_discharge: Share of the battery that may be used.

        cold_factor: Share of the battery that is there at the coldest design temperature.

        strokes_per_day: That the autonomy is reckoned with.

        array_w: Rated power of the solar array.

        sun_h_per_day: Full-sun hours of the poorest month.

        wind_w: Rated power of a wind generator.

        wind_share: Its mean output in the poorest month, over its rated power.

        autonomy_days: Days without charging that are asked for.
    """

    kind: str
    motor_v: Positive
    phases: Literal["DC", "single-phase", "three-phase"] = "DC"
    frequency_hz: Positive | None = None
    power_kw: Positive | None = None
    rated_a: Positive | None = None
    running_a: Positive
    running_at_bar: Positive
    starting_a: Positive
    control_v: Positive = 24.0
    cable_m: Positive | None = None
    cable_mm2: Positive | None = None
    cable_awg: Annotated[int, msgspec.Meta(ge=1, le=18)] | None = None
    lowest_v: Positive | None = None
    unbalance_pct: Positive | None = None
    battery_ah: Positive | None = None
    standby_a: NonNegative | None = None
    depth_of_discharge: Annotated[float, msgspec.Meta(gt=0, le=1)] | None = None
    cold_factor: Annotated[float, msgspec.Meta(gt=0, le=1)] | None = None
    strokes_per_day: NonNegative | None = None
    array_w: Positive | None = None
    sun_h_per_day: Positive | None = None
    wind_w: Positive | None = None
    wind_share: Annotated[float, msgspec.Meta(gt=0, le=1)] | None = None
    autonomy_days: Positive | None = None


class Environment(msgspec.Struct, frozen=True, kw_only=True):
    """
    Ambient range and heater.

    The thermostat switches the heater on at `heater_on_c` and off at `heater_off_c`; below `pump_inhibited_below_c` the
    unit does not start its pump. `heat_loss_w_k` is what tank and unit lose for each kelvin above ambient,
    `heat_capacity_kj_k` what warms them by one kelvin.
    """

    coldest_c: float
    hottest_c: float
    heater_w: Positive | None = None
    heater_on_c: float | None = None
    heater_off_c: float | None = None
    pump_inhibited_below_c: float | None = None
    heat_loss_w_k: Positive | None = None
    heat_capacity_kj_k: Positive | None = None
