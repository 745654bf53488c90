"""
What a unit's registers hold, by role: its instruments' view of the truth, its counters, its bits.

Numbers are in the role's unit; bits 1.0 for the role's `true_word`.
"""

import math
from typing import TYPE_CHECKING

from commission.practice.follower import Follower
from commission.practice.instruments import PRESSURE_NOISE_BAR, SUPPLY_NOISE_V, Noise
from commission.practice.mechanism import PA_PER_BAR
from commission.practice.orders import Selector
from commission.practice.settings import SETTING_ROLES

if TYPE_CHECKING:  # the unit holds what is read here
    from commission.practice.unit import PracticeUnit


def readings_of(unit: "PracticeUnit", noise: Noise) -> dict[str, float]:
    """Every role's reading after a scan."""
    readings = {**_numbers(unit, noise), **_bits(unit)}
    readings.update({role: unit.settings.value(role) for role in SETTING_ROLES})
    return readings


def _numbers(unit: "PracticeUnit", noise: Noise) -> dict[str, float]:
    oil, sensed_pct = unit.hydraulics, unit.sensed_pct
    looped_ma = unit.condition.ground_loop_ma * unit.motor_powered
    true_ma = unit.sensor.feedback_ma(sensed_pct) + looped_ma
    feedback_ma = noise.around(true_ma, 0.004, 0.001) if unit.side.loop_24v else 0.0
    pressure_pa = _pressure(noise, oil.pressure_pa)
    numbers = {
        "identity": float(unit.sheet.identity.code),
        "travel": noise.around(sensed_pct, unit.sensor.noise_pct, 0.01) / 100,
        "cylinder_pressure": pressure_pa,
        "supply_voltage": noise.around(unit.electrics.supply_v, SUPPLY_NOISE_V, 0.001),
        "oil_temperature": noise.around(unit.climate.oil_c, 0.05, 0.1),
        "motor_current": max(0.0, noise.around(unit.electrics.motor_a, 0.02, 0.01)),
        "fluid_level": oil.tank_m3 * 1000 / unit.sheet.tank.volume_l,
        "starts_total": float(unit.starts_total),
        "run_time_total": float(math.floor(unit.run_s_total)),
        "feedback_current": feedback_ma / 1000,
        "pipeline_pressure": noise.around(unit.side.monitored_bar, 0.02, 0.01) * PA_PER_BAR,
    }
    if isinstance(unit.onboard, Follower):
        numbers["cylinder_pressure_b"] = _pressure(noise, oil.pressure_b_pa)
        numbers["system_pressure"] = _pressure(noise, oil.pump_pa)
        numbers["command_current"] = max(0.0, noise.around(unit.side.command_now, 0.004, 0.001)) / 1000
        numbers["set_point"] = unit.onboard.set_point_pct / 100
    return numbers


def _pressure(noise: Noise, pressure_pa: float) -> float:
    return noise.around(pressure_pa / PA_PER_BAR, PRESSURE_NOISE_BAR, 0.01) * PA_PER_BAR


def _bits(unit: "PracticeUnit") -> dict[str, float]:
    board, side = unit.onboard, unit.side
    bits = {
        "open_limit": unit.limits.open_made,
        "closed_limit": unit.limits.closed_made,
        "motor_running": unit.motor_powered,
        "automatic": side.selector is Selector.REMOTE and side.hand_lever_stowed,
        "remote": side.selector is Selector.REMOTE,
        "low_fluid": unit.fluid_low,
        "alarm_relay": board.healthy,
        "esd_healthy": side.esd_loop and not board.esd_latched,
    }
    if isinstance(board, Follower):
        bits["follows_link"] = board.follows_link
    names = {point.role for point in unit.sheet.points if point.role.startswith("alarm_")} - {"alarm_relay"}
    bits.update({role: role in board.alarms for role in names})
    return {role: float(bit) for role, bit in unit.cores.seen(bits, unit.now_s).items()}
