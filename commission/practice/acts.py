"""What people beside the unit do: turn, lock, press, open. In plain trade words, one act at a time."""

import math
from collections.abc import Callable

import msgspec

from commission.practice.mechanism import PA_PER_BAR
from commission.practice.orders import Order, Refused, Selector
from commission.practice.registers import in_role_unit
from commission.practice.repairs import NotRepaired, put_right
from commission.practice.settings import SETTING_ROLES
from commission.practice.unit import PracticeUnit
from commission.sheet import End

LET_TIME_PASS = "let_time_pass"  # noqa: S105  # an act
"""The one act that is the clock's, not a person's."""

ACTS = {
    "motor_isolator": "true on, false off and locked: supply of the pump motor",
    "heater_isolator": "true on, false off and locked: supply of the tank heater",
    "control_supply": "true on, false off and locked: 24 V of the control unit; off, it is silent and the dump opens",
    "loop_24v": "true on, false knife links open: ESD loop, alarm loop, analogue loops",
    "battery_isolator": "true on, false off and locked",
    "array_isolator": "true on, false off and locked",
    "accumulator_valve": "true open, false shut: ball valve between accumulator and cylinder",
    "root_valve": "true open, false shut: pipeline to pressure monitor",
    "bleed": "with `which`, as BV-1: true open, false shut, or a share as 0.06 for just cracked",
    "all_bleeds": "true opens, false shuts every bleed valve",
    "dump_blocked": "true screws the dump shut by hand, so that the hand pump can build pressure; false frees it",
    "selector": "LOCAL, OFF or REMOTE",
    "esd_button": "true pressed and staying in, false turned out again; the trip stays until reset",
    "control_room_esd": "true trips the ESD loop from the control room, false restores it",
    "local_open": "press OPEN at the panel",
    "local_close": "press CLOSE at the panel",
    "local_stop": "press STOP at the panel",
    "local_reset": "press RESET at the unit; the only reset of a pressure trip",
    "hand_pump": "pump by hand until the gauge shows this many bar; the lever is out from then on",
    "stow_hand_lever": "put the hand pump's lever back",
    "lift_float": "true lifts the level switch's float by its rod, false lets it go",
    "draw_off_oil": "litres drawn from the tank into a clean container; less than 0 fills in",
    "charge_nitrogen": "set the precharge to this many bar; the accumulator's oil side must be at zero",
    "limit_lever": "with `which`, open or closed: true pressed, false held off by hand, free as the valve has it",
    "link_cut": "true cuts the lead between laptop and unit, false mends it",
    "put_right": "a fitter or an electrician sets right: heater, alarm contact, rotation, feedback, coupling or needle",
    "loosen_closed_limit": "the closed limit's screw shakes loose",
    "tighten_closed_limit": "tighten the closed limit's screw",
    "other_master_orders": "another master commands: `which` is open, close, stop, reset, follow link or follow loop",
    "other_master_sets": "another master writes: `which` is the role of a setting or set_point, in the sheet's unit",
    "pipeline_bar": "pressure in the pipeline from now on",
    "test_pump_bar": "hand test pump at the monitor, root valve shut: go to this many bar; `rate_bar_s` or at once",
    "test_pump_pulse": "the same for `seconds` (1 where none are given), then back to where it was",
    "vent_sensing_line": "vent the monitor's sensing line slowly, 2 bar/s or `rate_bar_s`, root valve shut",
    "monitor_loop": "loop of the monitor's transmitter at its terminals: whole, open or shorted",
    "alarm_wire_cut": "true parts a core of the alarm contact's cable, false joins it again",
    "difference_bar": "pressure difference across the valve from now on",
    "command_signal": "what the control room or a calibrator puts on the command loop, mA or V",
    "battery_v": "volts of the battery at rest",
    "ambient_c": "air temperature",
    LET_TIME_PASS: "seconds that the unit lives through at once; whoever measures skips the same and says so",
}
"""Every act, with what its `value` means."""


_SWITCHES = {
    "motor_isolator",
    "control_supply",
    "loop_24v",
    "battery_isolator",
    "array_isolator",
    "root_valve",
    "control_room_esd",
    "dump_blocked",
    "heater_isolator",
    "link_cut",
    "alarm_wire_cut",
}
_VENT_BAR_S = 2.0
_PULSE_S = 1.0


class NotDone(ValueError):
    """An act that does not exist, with a value it does not take, or that nobody could do now."""


Value = bool | int | float | str | None


class Act(msgspec.Struct, frozen=True, kw_only=True):
    """One act: its name in `ACTS`, its value, what it needs beside, and in how many seconds of unit time it is done."""

    name: str
    value: Value = None
    which: str = ""
    rate_bar_s: float = 0.0
    seconds: float = 0.0
    in_s: float = 0.0


def perform(unit: PracticeUnit, act: Act) -> None:
    """
    Do one thing.

    Raises:
        NotDone: there is no such act, it does not take this value, or it is not possible now.
    """
    if act.name in _SWITCHES:
        setattr(unit.side, act.name, _switch(act))
    elif act.name in _PANEL:
        _press(unit, act)
    elif act.name in _ACTIONS:
        _ACTIONS[act.name](unit, act)
    else:
        raise NotDone(f"no act {act.name!r}; known: {', '.join(ACTS)}")


def _press(unit: PracticeUnit, act: Act) -> None:
    if not unit.side.control_on:
        return  # a dead panel
    try:
        unit.order(_PANEL[act.name], remote=False)
    except Refused as refused:
        raise NotDone(f"the unit refuses: {refused}") from refused


def _bleed(unit: PracticeUnit, act: Act) -> None:
    if act.which not in unit.side.bleeds:
        raise NotDone(f"no bleed valve {act.which!r}; known: {', '.join(unit.side.bleeds)}")
    if isinstance(act.value, bool):
        unit.side.bleeds[act.which] = float(act.value)
    else:
        unit.side.bleeds[act.which] = min(1.0, _number(act, least=0.0))


def _all_bleeds(unit: PracticeUnit, act: Act) -> None:
    unit.side.bleeds = dict.fromkeys(unit.side.bleeds, float(_switch(act)))


def _accumulator_valve(unit: PracticeUnit, act: Act) -> None:
    unit.side.accumulator_valve = _switch(act)
    unit.hydraulics.isolate_accumulator(not unit.side.accumulator_valve)


def _selector(unit: PracticeUnit, act: Act) -> None:
    try:
        unit.side.selector = Selector(str(act.value))
    except ValueError as error:
        raise NotDone(f"selector: {act.value!r}, expected LOCAL, OFF or REMOTE") from error


def _esd_button(unit: PracticeUnit, act: Act) -> None:
    unit.side.esd_button_pressed = _switch(act)


def _hand_pump(unit: PracticeUnit, act: Act) -> None:
    unit.side.hand_pump_to_bar = _number(act, least=0.0)
    unit.side.hand_lever_stowed = False


def _stow(unit: PracticeUnit, _act: Act) -> None:
    unit.side.hand_lever_stowed = True
    unit.side.hand_pump_to_bar = 0.0


def _lift_float(unit: PracticeUnit, act: Act) -> None:
    unit.side.float_lifted = _switch(act)


def _draw_off(unit: PracticeUnit, act: Act) -> None:
    litres = _number(act)
    if litres / 1000 > unit.hydraulics.tank_m3:
        raise NotDone("there is not so much oil in the tank")
    unit.hydraulics.tank_m3 -= litres / 1000
    unit.side.drawn_off_l += litres


def _charge(unit: PracticeUnit, act: Act) -> None:
    bar = _number(act, least=0.0)
    if unit.hydraulics.accumulator_pa > PA_PER_BAR:
        raise NotDone("the accumulator's oil side is not at zero")
    unit.hydraulics.charge(bar * PA_PER_BAR)


def _limit_lever(unit: PracticeUnit, act: Act) -> None:
    try:
        end = End(act.which)
    except ValueError as error:
        raise NotDone(f"limit_lever: which {act.which!r}, expected open or closed") from error
    if act.value == "free":
        unit.limits.levers.pop(end, None)
    else:
        unit.limits.levers[end] = _switch(act)


def _tighten(unit: PracticeUnit, _act: Act) -> None:
    unit.limits.set_right()


def _put_right(unit: PracticeUnit, act: Act) -> None:
    try:
        put_right(unit, str(act.value))
    except NotRepaired as refused:
        raise NotDone(str(refused)) from refused


def _loosen(unit: PracticeUnit, _act: Act) -> None:
    unit.limits.chatters = True


def _other_master_orders(unit: PracticeUnit, act: Act) -> None:
    order = _FROM_ELSEWHERE.get(act.which)
    if order is None:
        raise NotDone(f"{act.name}: which {act.which!r}, expected {', '.join(_FROM_ELSEWHERE)}")
    try:
        unit.order(order, remote=True)
    except Refused as refused:
        raise NotDone(f"the unit refuses: {refused}") from refused


def _other_master_sets(unit: PracticeUnit, act: Act) -> None:
    point = unit.sheet.point(act.which)
    if point is None or (act.which not in SETTING_ROLES and act.which != "set_point"):
        raise NotDone(f"{act.name}: which {act.which!r}, expected a setting of {unit.sheet.identity.tag} by its role")
    value = in_role_unit(point, _number(act, least=0.0))
    try:
        if act.which == "set_point":
            unit.command_to(value * 100)
        else:
            unit.change_setting(act.which, value)
    except (Refused, ValueError) as refused:
        raise NotDone(f"the unit refuses: {refused}") from refused


def _pipeline(unit: PracticeUnit, act: Act) -> None:
    unit.side.pipeline_bar = _number(act, least=0.0)


def _test_pump(unit: PracticeUnit, act: Act) -> None:
    _root_valve_is_shut(unit)
    unit.side.sensing_target_bar = _number(act, least=0.0)
    unit.side.sensing_rate_bar_s, unit.side.sensing_back_s = act.rate_bar_s, 0.0


def _pulse(unit: PracticeUnit, act: Act) -> None:
    unit_bar = unit.side.sensing_bar
    _test_pump(unit, act)
    unit.side.sensing_back_bar, unit.side.sensing_back_s = unit_bar, act.seconds or _PULSE_S


def _vent(unit: PracticeUnit, act: Act) -> None:
    _root_valve_is_shut(unit)
    unit.side.sensing_target_bar = 0.0
    unit.side.sensing_rate_bar_s = act.rate_bar_s or _VENT_BAR_S


def _monitor_loop(unit: PracticeUnit, act: Act) -> None:
    if act.value not in _LOOPS:
        raise NotDone(f"monitor_loop: {act.value!r}, expected {', '.join(_LOOPS)}")
    unit.side.monitor_loop = str(act.value)


def _root_valve_is_shut(unit: PracticeUnit) -> None:
    if unit.side.root_valve:
        raise NotDone("the root valve is open: the sensing line follows the pipeline")


def _difference(unit: PracticeUnit, act: Act) -> None:
    unit.hydraulics.friction.difference_bar = _number(act, least=0.0)


def _command_signal(unit: PracticeUnit, act: Act) -> None:
    unit.side.command_signal = _number(act, least=0.0)


def _battery(unit: PracticeUnit, act: Act) -> None:
    unit.electrics.rest_v = _number(act, least=0.0)


def _ambient(unit: PracticeUnit, act: Act) -> None:
    unit.side.ambient_c = _number(act)


def _switch(act: Act) -> bool:
    if not isinstance(act.value, bool):
        raise NotDone(f"{act.name}: {act.value!r}, expected true or false ({ACTS[act.name]})")
    return act.value


def _number(act: Act, *, least: float = -math.inf) -> float:
    value = act.value
    if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value < math.inf:
        raise NotDone(f"{act.name}: {value!r}, expected a number ({ACTS[act.name]})")
    return float(value)


_PANEL = {
    "local_open": Order.OPEN,
    "local_close": Order.CLOSE,
    "local_stop": Order.STOP,
    "local_reset": Order.RESET,
}

_FROM_ELSEWHERE = {
    "open": Order.OPEN,
    "close": Order.CLOSE,
    "stop": Order.STOP,
    "reset": Order.RESET,
    "follow link": Order.FOLLOW_LINK,
    "follow loop": Order.FOLLOW_LOOP,
}
_LOOPS = ("whole", "open", "shorted")

_ACTIONS: dict[str, Callable[[PracticeUnit, Act], None]] = {
    "bleed": _bleed,
    "all_bleeds": _all_bleeds,
    "accumulator_valve": _accumulator_valve,
    "selector": _selector,
    "esd_button": _esd_button,
    "hand_pump": _hand_pump,
    "stow_hand_lever": _stow,
    "lift_float": _lift_float,
    "draw_off_oil": _draw_off,
    "charge_nitrogen": _charge,
    "limit_lever": _limit_lever,
    "put_right": _put_right,
    "loosen_closed_limit": _loosen,
    "tighten_closed_limit": _tighten,
    "other_master_orders": _other_master_orders,
    "other_master_sets": _other_master_sets,
    "pipeline_bar": _pipeline,
    "test_pump_bar": _test_pump,
    "test_pump_pulse": _pulse,
    "vent_sensing_line": _vent,
    "monitor_loop": _monitor_loop,
    "difference_bar": _difference,
    "command_signal": _command_signal,
    "battery_v": _battery,
    "ambient_c": _ambient,
}


def seconds_of(act: Act) -> float:
    """
    How long time is to pass.

    Raises:
        NotDone: not a number of seconds from 0 to an hour.
    """
    seconds = act.value
    if isinstance(seconds, bool) or not isinstance(seconds, int | float) or not 0 <= seconds <= 3600:
        raise NotDone(f"{act.name}: {seconds!r}, expected seconds, 0 to 3600")
    return float(seconds)
