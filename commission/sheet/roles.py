"""
Roles: what a point means to the program, whatever a unit's own list calls it.

Procedures ask for roles, never for addresses. A bit role names the words for 1 and 0 in the trade's terms, so that a
sheet states a sense as "1 means made" and nobody has to think in normally open or normally closed (which describe a
contact on the shelf). A number role names the unit that readings are handed over in.
"""

from enum import StrEnum

import msgspec


class RoleKind(StrEnum):
    """What a point of this role carries."""

    BIT = "bit"
    NUMBER = "number"
    COMMAND = "command"
    SETTING = "setting"


class Role(msgspec.Struct, frozen=True):
    """
    One role.

    Args:
        kind: Bit, number, command or setting.

        label: What people call it.

        unit: The unit readings are handed over in; empty for bits and commands.

        true_word: For a bit, the word for True.

        false_word: For a bit, the word for False.
    """

    kind: RoleKind
    label: str
    unit: str = ""
    true_word: str = ""
    false_word: str = ""


def _bit(label: str, true_word: str, false_word: str) -> Role:
    return Role(RoleKind.BIT, label, true_word=true_word, false_word=false_word)


def _number(label: str, unit: str) -> Role:
    return Role(RoleKind.NUMBER, label, unit)


def _setting(label: str, unit: str) -> Role:
    return Role(RoleKind.SETTING, label, unit)


def _command(label: str) -> Role:
    return Role(RoleKind.COMMAND, label)


def _alarm(label: str) -> Role:
    return _bit(label, "active", "clear")


ROLES: dict[str, Role] = {
    "identity": _number("identity code", "1"),
    "alive": _number("point that shows the unit is alive", "1"),
    "travel": _number("travel", "1"),
    "cylinder_pressure": _number("cylinder pressure", "Pa"),
    "cylinder_pressure_b": _number("cylinder pressure, side B", "Pa"),
    "system_pressure": _number("system pressure", "Pa"),
    "supply_voltage": _number("supply voltage", "V"),
    "oil_temperature": _number("oil temperature", "degC"),
    "motor_current": _number("motor current", "A"),
    "fluid_level": _number("fluid level", "1"),
    "starts_total": _number("motor starts, total", "1"),
    "run_time_total": _number("motor run time, total", "s"),
    "command_current": _number("command current", "A"),
    "feedback_current": _number("feedback current", "A"),
    "pipeline_pressure": _number("pipeline pressure", "Pa"),
    "open_limit": _bit("open limit", "made", "not made"),
    "closed_limit": _bit("closed limit", "made", "not made"),
    "motor_running": _bit("motor", "running", "stopped"),
    "automatic": _bit("automatic", "in automatic", "not in automatic"),
    "remote": _bit("selector", "remote", "local or off"),
    "low_fluid": _bit("fluid", "low", "enough"),
    "alarm_relay": _bit("alarm relay", "healthy", "alarm"),
    "esd_healthy": _bit("ESD loop", "healthy", "tripped"),
    "follows_link": _bit("command from", "link", "loop"),
    "alarm_run_time": _alarm("motor ran too long"),
    "alarm_starts": _alarm("too many starts"),
    "alarm_travel": _alarm("end of travel not reached"),
    "alarm_fluid": _alarm("low fluid alarm"),
    "alarm_not_automatic": _alarm("not in automatic alarm"),
    "alarm_high_trip": _alarm("high pressure trip"),
    "alarm_low_trip": _alarm("low pressure trip"),
    "alarm_low_pressure": _alarm("low hydraulic pressure"),
    "alarm_supply": _alarm("supply alarm"),
    "alarm_deviation": _alarm("deviation alarm"),
    "alarm_signal_lost": _alarm("signal lost alarm"),
    "alarm_oil_cold": _alarm("oil too cold"),
    "command_open": _command("command open"),
    "command_close": _command("command close"),
    "command_stop": _command("command stop"),
    "command_reset": _command("command reset"),
    "command_partial_stroke": _command("command partial stroke"),
    "command_esd_test": _command("command ESD test"),
    "command_follow_link": _command("command follow the link"),
    "command_follow_loop": _command("command follow the loop"),
    "set_point": _command("set point"),
    "run_limit": _setting("run-time limit", "s"),
    "starts_allowed": _setting("starts allowed in the window", "1"),
    "starts_window": _setting("window for starts", "s"),
    "travel_timeout_open": _setting("travel time-out, opening", "s"),
    "travel_timeout_close": _setting("travel time-out, closing", "s"),
    "trip_high": _setting("high trip", "Pa"),
    "trip_low": _setting("low trip", "Pa"),
    "trip_high_delay": _setting("high trip delay", "s"),
    "trip_low_delay": _setting("low trip delay", "s"),
    "deviation_limit": _setting("deviation limit", "1"),
    "deviation_time": _setting("deviation time", "s"),
    "partial_guard_travel": _setting("partial stroke guard, travel", "1"),
    "partial_guard_time": _setting("partial stroke guard, time", "s"),
}
