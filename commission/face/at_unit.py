"""
What a person who practises can do with their own hands at the practice unit, in plain words, and what they see there.

Practice only (safety rule R15): hands exist only where the program itself started the unit as a process of its own, and
they reach that process by a port of its own, never by the line. A real unit has no such port.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any, Protocol

import msgspec

from commission.sheet import Sheet

Value = bool | int | float | str | None


class NotPossible(Exception):  # names what happened
    """Nobody could do it now; the message says why."""


class Act(msgspec.Struct, frozen=True, kw_only=True):
    """One act as the practice unit names it."""

    act: str
    value: Value = None
    which: str = ""


class Hands(Protocol):
    """Whoever does things beside the practice unit."""

    async def act(self, act: Act) -> None:
        """
        Do one thing.

        Raises:
            NotPossible: nobody could do it now, or the unit is gone.
        """
        ...

    async def look(self, name: str) -> Any:
        """
        Look at one thing.

        Raises:
            NotPossible: there is nothing of that name, or the unit is gone.
        """
        ...


class Doing(msgspec.Struct, frozen=True):
    """
    Something that can be done now.

    Args:
        words: What it is, as `open bleed BV-1, cylinder oil`.

        act: The act; where `amount` is named, without its value.

        amount: What is typed for it, as `bar on the gauge`; empty where nothing is.
    """

    words: str
    act: Act
    amount: str = ""


class Place(msgspec.Struct, frozen=True):
    """Things that are done at one place."""

    name: str
    doings: tuple[Doing, ...]


WAIT_ACT = "let_time_pass"
"""The act that is the clock's; the program skips the same time and records it."""

LOOKS = (
    *("stem", "recorder", "gauges", "panel", "control_room", "meter", "clamp", "line_gauge", "thermometer"),
    *("level", "precharge", "alarm_volts", "alarm_age", "positions", "acts"),
)
"""All that is looked at for one view."""

_BY_NAME = "put_right"
"""Its value is a word, the name of what is set right."""

_ISOLATORS = {
    "motor": "motor_isolator",
    "heater": "heater_isolator",
    "control": "control_supply",
    "24 V loop": "loop_24v",
    "battery": "battery_isolator",
    "array": "array_isolator",
    "accumulator": "accumulator_valve",
    "sensing line": "root_valve",
}
"""The act for each kind of source on the sheet."""

_WAITS = ((10, "10 seconds"), (60, "1 minute"), (300, "5 minutes"), (600, "10 minutes"), (3000, "50 minutes"))


def places(sheet: Sheet, looked: Mapping[str, Any]) -> tuple[Place, ...]:
    """
    What can be done now, by place; acts of the unit that have no words here stand last, as the unit describes them.

    Args:
        sheet: The unit's sheet, for the names of its devices.

        looked: What each of `LOOKS` gave.
    """
    positions: Mapping[str, Any] = looked["positions"]
    return (
        Place("isolators and locks", tuple(_locks(sheet, positions))),
        Place("bleeds and dump", tuple(_bleeds(sheet, positions))),
        Place("local panel", tuple(_panel(positions))),
        Place("hand pump, oil, nitrogen", tuple(_oil(positions))),
        Place("pressure monitor", tuple(_monitor())),
        Place("control room", tuple(_control_room(positions))),
        Place("let time pass", tuple(_waits())),
        Place("limit switches by hand, repairs", tuple(_levers())),
        Place("pipeline, weather and the rest", tuple(_others(looked["acts"]))),
    )


def seen(sheet: Sheet, looked: Mapping[str, Any]) -> list[tuple[str, str]]:
    """
    What a person at the unit sees, as labels and words.

    Args:
        sheet: The unit's sheet.

        looked: What each of `LOOKS` gave.
    """
    panel, room, positions = looked["panel"], looked["control_room"], looked["positions"]
    gauges = ", ".join(f"{name} {bar:g} bar" for name, bar in looked["gauges"].items())
    rows = [
        ("Stem mark", f"{looked['stem']:g} {_travel_unit(sheet)} from closed"),
        ("Gauges", gauges),
        ("Panel", _lamps(panel)),
        ("Control room", _room(room, looked["alarm_age"])),
        ("Meter", f"{looked['meter']:g} V on the 24 V terminals, {looked['alarm_volts']:g} V on the alarm loop"),
        ("Instruments", f"{looked['line_gauge']:g} bar in the sensing line, {looked['thermometer']:g} °C in the oil"),
        ("Clamp", f"{looked['clamp']:.2f} mA feedback; recorder: {_recorded(looked['recorder'])}"),
        ("Tank", f"{looked['level']:g} litres in the sight glass"),
    ]
    if sheet.accumulator is not None:
        rows.append(("Nitrogen", f"{looked['precharge']:g} bar by the charging kit"))
    rows.append(("Not as run", "; ".join(_not_as_run(sheet, positions)) or "nothing: everything stands as in service"))
    return rows


def _recorded(times: Mapping[str, float]) -> str:
    """What the recorder at the stem shows: when supply or ESD loop went, and when the stem came home."""
    cause, home = times["cause"], times["home"]
    if not cause:
        return "nothing yet"
    return f"cause {cause:.2f} s, {f'home {home:.2f} s' if home > cause else 'not home since'}"


def with_amount(doing: Doing, typed: str) -> Act:
    """
    The act with the amount that was typed: a number, on or off, or the name of what is repaired.

    Raises:
        ValueError: it is neither.
    """
    word = typed.strip().lower()
    if doing.act.act == _BY_NAME:
        return msgspec.structs.replace(doing.act, value=word)
    if word in _SWITCHED:
        return msgspec.structs.replace(doing.act, value=_SWITCHED[word])
    try:
        value = float(word.replace(",", "."))
    except ValueError:
        raise ValueError(f"{typed!r} is no number: {doing.amount}, as: 100") from None
    return msgspec.structs.replace(doing.act, value=value)


_SWITCHED = {"on": True, "off": False}


def _locks(sheet: Sheet, positions: Mapping[str, Any]) -> Iterable[Doing]:
    for source in sheet.sources:
        act = _ISOLATORS.get(source.kind)
        if act is None or act not in positions:
            continue
        on = bool(positions[act])
        words = _off_words(source.kind) if on else _on_words(source.kind)
        yield Doing(f"{words}: {source.device}", Act(act=act, value=not on))


def _off_words(kind: str) -> str:
    return {
        "accumulator": "shut and lock, accumulator oil",
        "sensing line": "shut and lock, sensing line",
        "24 V loop": "open the links and lock, 24 V from the control room",
    }.get(kind, f"switch OFF and lock, {kind}")


def _on_words(kind: str) -> str:
    return {
        "accumulator": "take the lock off and open, accumulator oil",
        "sensing line": "take the lock off and open, sensing line",
        "24 V loop": "take the lock off and close the links, 24 V",
    }.get(kind, f"take the lock off, switch ON, {kind}")


def _bleeds(sheet: Sheet, positions: Mapping[str, Any]) -> Iterable[Doing]:
    bleeds: Mapping[str, float] = positions["bleeds"]
    names = {volume.bleed: volume.name for volume in sheet.volumes}
    cylinder = next((volume.bleed for volume in sheet.volumes if volume.id == "cylinder"), "")
    for bleed, share in bleeds.items():
        word = "shut" if share else "open"
        yield Doing(f"{word} bleed {bleed}, {names.get(bleed, '')}", Act(act="bleed", which=bleed, value=not share))
        if bleed == cylinder:
            words = f"crack bleed {bleed} by a share of ..."
            yield Doing(words, Act(act="bleed", which=bleed), "a share of fully open, as 0.06")
    if any(bleeds.values()):
        yield Doing("shut all bleeds", Act(act="all_bleeds", value=False))
    if not all(bleeds.values()):
        yield Doing("open all bleeds", Act(act="all_bleeds", value=True))
    blocked = bool(positions["dump_blocked"])
    yield Doing("take the screw cap off the dump" if blocked else "screw the dump shut by hand: for the hand pump only",
                Act(act="dump_blocked", value=not blocked))  # fmt: skip


def _panel(positions: Mapping[str, Any]) -> Iterable[Doing]:
    for selected in ("LOCAL", "OFF", "REMOTE"):
        if positions["selector"] != selected:
            yield Doing(f"selector to {selected}", Act(act="selector", value=selected))
    for button in ("open", "close", "stop", "reset"):
        yield Doing(f"press {button.upper()}", Act(act=f"local_{button}"))
    pressed = bool(positions["esd_button_pressed"])
    yield Doing("turn the ESD button out again; RESET after it" if pressed else "press the ESD button: it stays in",
                Act(act="esd_button", value=not pressed))  # fmt: skip


def _oil(positions: Mapping[str, Any]) -> Iterable[Doing]:
    yield Doing("pump by hand, until the gauge shows ...", Act(act="hand_pump"), "bar on the gauge")
    if not positions["hand_lever_stowed"]:
        yield Doing("put the lever of the hand pump back", Act(act="stow_hand_lever"))
    lifted = bool(positions["float_lifted"])
    yield Doing("let the float of the level switch go" if lifted else "lift the float of the level switch by its rod",
                Act(act="lift_float", value=not lifted))  # fmt: skip
    yield Doing("draw oil from the tank; below 0 fills in", Act(act="draw_off_oil"), "litres")
    yield Doing("charge or vent the nitrogen, oil side at zero", Act(act="charge_nitrogen"), "bar of nitrogen")


def _levers() -> Iterable[Doing]:
    for which in ("open", "closed"):
        for value, words in ((True, "press"), (False, "hold off"), ("free", "let go")):
            yield Doing(f"{words} the lever of the {which} limit", Act(act="limit_lever", value=value, which=which))
    yield Doing("tighten the screw of the closed limit switch", Act(act="tighten_closed_limit"))
    yield Doing("let the screw of the closed limit switch shake loose", Act(act="loosen_closed_limit"))
    yield Doing("have a fitter or an electrician set right ...", Act(act=_BY_NAME), "heater, alarm contact, needle ...")


def _monitor() -> Iterable[Doing]:
    yield Doing("hand test pump, root valve shut: go to ...", Act(act="test_pump_bar"), "bar at the monitor")
    yield Doing("vent the sensing line slowly, root valve shut", Act(act="vent_sensing_line"))
    yield Doing("a pulse of one second with it, to ...", Act(act="test_pump_pulse"), "bar at the monitor")
    for loop, words in (("open", "open"), ("shorted", "short"), ("whole", "make whole again")):
        yield Doing(f"{words}: the loop of the monitor's transmitter", Act(act="monitor_loop", value=loop))


def _waits() -> Iterable[Doing]:
    yield from (Doing(words, Act(act=WAIT_ACT, value=seconds)) for seconds, words in _WAITS)
    yield Doing("as long as you type", Act(act=WAIT_ACT), "seconds")


_WORDED = frozenset(
    (*_ISOLATORS.values(), "bleed", "all_bleeds", "dump_blocked", "selector", "esd_button", "local_open", "local_close")
) | {
    *("local_stop", "local_reset", "hand_pump", "stow_hand_lever", "lift_float", "draw_off_oil", "charge_nitrogen"),
    *("tighten_closed_limit", "test_pump_bar", "vent_sensing_line", "control_room_esd", "limit_lever", WAIT_ACT),
    _BY_NAME,
    *("loosen_closed_limit", "other_master_orders", "other_master_sets"),
    *("test_pump_pulse", "monitor_loop", "alarm_wire_cut"),
}
"""Acts that have words of their own above."""


def _others(acts: Mapping[str, str]) -> Iterable[Doing]:
    for name, description in acts.items():
        if name not in _WORDED:
            yield Doing(f"{name.replace('_', ' ')}: {description}", Act(act=name), "a number, or on or off")


def _control_room(positions: Mapping[str, Any]) -> Iterable[Doing]:
    tripped = bool(positions["control_room_esd"])
    words = "ask for the ESD loop to be restored" if tripped else "ask for an ESD from the control room"
    yield Doing(words, Act(act="control_room_esd", value=not tripped))
    for order in ("open", "close", "stop", "reset"):
        yield Doing(f"another master orders: {order}", Act(act="other_master_orders", which=order))
    yield Doing(
        "another master sets the run-time limit to ...", Act(act="other_master_sets", which="run_limit"), "seconds"
    )
    cut = bool(positions["alarm_wire_cut"])
    words = "join the core of the alarm contact again" if cut else "part a core of the alarm contact's cable"
    yield Doing(words, Act(act="alarm_wire_cut", value=not cut))


def _travel_unit(sheet: Sheet) -> str:
    return "degrees" if sheet.valve.motion == "quarter-turn" else "mm"


def _lamps(panel: Mapping[str, Any]) -> str:
    if not panel["power"]:
        return f"selector {panel['selector']}; dark, no power"
    lit = [words for name, words in _LAMPS if panel[name]]
    return f"selector {panel['selector']}; power on{''.join(f', {words}' for words in lit)}"


_LAMPS = (
    ("alarm", "ALARM lit"),
    ("esd_tripped", "ESD TRIPPED lit"),
    ("pressure_trip", "PRESSURE TRIP lit"),
    ("pump_running", "pump running"),
)


def _room(room: Mapping[str, Any], alarm_age_s: float) -> str:
    limits = [word for word in ("open", "closed") if room[f"{word}_limit"]]
    alarm = "no alarm" if room["alarm_contact_closed"] else "ALARM (contact open)"
    limit = " and ".join(limits) or "none"
    return f"{alarm} for {alarm_age_s:.0f} s, feedback {room['feedback_ma']:.2f} mA, limit: {limit}"


_ODD: tuple[tuple[Callable[[Mapping[str, Any]], bool], str], ...] = (
    (lambda now: now["dump_blocked"], "dump screwed shut"),
    (lambda now: not now["hand_lever_stowed"], "hand pump lever out"),
    (lambda now: now["float_lifted"], "float lifted"),
    (lambda now: now["esd_button_pressed"], "ESD button in"),
    (lambda now: now["control_room_esd"], "ESD from the control room"),
    (lambda now: now["monitor_loop"] != "whole", "monitor's loop not whole"),
    (lambda now: now["alarm_wire_cut"], "alarm core parted"),
)


def _number_of(device: str) -> str:
    """The device's own number, as `IS-1101M`; the whole name where it has none."""
    found = re.search(r"[A-Z]+-[0-9A-Z-]+", device)
    return device if found is None else found[0]


def _all_of(names: Iterable[str], how: str) -> Iterable[str]:
    """What stands in one way, the way said once."""
    listed = ", ".join(names)
    return (f"{listed} {how}",) if listed else ()


def _not_as_run(sheet: Sheet, positions: Mapping[str, Any]) -> Iterable[str]:
    acts = {_number_of(source.device): _ISOLATORS.get(source.kind, "") for source in sheet.sources}
    yield from _all_of((name for name, act in acts.items() if act in positions and not positions[act]), "locked")
    yield from _all_of((bleed for bleed, share in positions["bleeds"].items() if share), "open")
    yield from (words for is_so, words in _ODD if is_so(positions))
