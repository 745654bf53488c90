"""
What a sheet can get wrong although every field is well formed: unknown roles, collisions, figures that contradict each
other, unsafe silences.
"""

import itertools
from collections.abc import Iterator

from commission import quantity
from commission.content import Problem, nearest
from commission.sample import Table
from commission.sheet.model import Action, Sheet
from commission.sheet.points import Point
from commission.sheet.roles import ROLES, RoleKind

_LAST_ADDRESS = 65535
"""Modbus Application Protocol V1.1b3, 4.4: an address is two bytes."""

_LOCKED_FIRST = frozenset({"motor", "heater"})
_LOCKED_AFTER_ZERO = frozenset({"control", "24 V loop", "array", "battery"})
"""Safety rule R2: the gauges are seen to fall with control still on."""


def contradictions(sheet: Sheet, file: str) -> list[Problem]:
    """Everything in the sheet that contradicts itself or leaves a safety fact open."""
    return [
        *_points(sheet, file),
        *_link(sheet, file),
        *_behaviour(sheet, file),
        *_orders(sheet, file),
        *_fluid(sheet, file),
        *_ids(sheet, file),
        *_sources(sheet, file),
        *_volumes(sheet, file),
    ]


def _points(sheet: Sheet, file: str) -> Iterator[Problem]:
    seen: set[str] = set()
    for point in sheet.points:
        place = f"point {point.role!r}"
        if point.role not in ROLES:
            yield Problem(file, place, "role", repr(point.role), "a known role", nearest(point.role, ROLES))
            continue
        if point.role in seen:
            yield Problem(file, place, "role", "the role twice", "one point a role")
        seen.add(point.role)
        if sheet.wire_address(point) < 0:
            yield Problem(file, place, "address", "0", "1 or more: the list counts from 1")
        if sheet.wire_address(point) + point.words - 1 > _LAST_ADDRESS:
            yield Problem(file, place, "address", str(point.address), f"an address within 0 … {_LAST_ADDRESS}")
        if point.write is not None and point.table in (Table.DISCRETE, Table.INPUT):
            yield Problem(file, place, "table", point.table, "coil or holding: it is written")
        yield from _unit(point, place, file)
    yield from _collisions(sheet, file)


def _unit(point: Point, place: str, file: str) -> Iterator[Problem]:
    wanted = ROLES[point.role].unit
    if not wanted or point.table.holds_bits:
        return
    try:
        quantity.conversion(point.unit, wanted)
    except quantity.UnitError:
        yield Problem(file, place, "unit", repr(point.unit), f"a unit that can be given in {wanted!r}")


def _collisions(sheet: Sheet, file: str) -> Iterator[Problem]:
    """Two roles at one address; a point that only shows life may share what another role reads."""
    points = [point for point in sheet.points if point.role != "alive"]
    for number, point in enumerate(points):
        for other in points[:number]:
            if other.role != point.role and _overlap(point, other):
                found = f"{point.table} {point.address}, which is also {other.role!r}"
                yield Problem(file, f"point {point.role!r}", "address", found, "an address of its own")
                break


def _overlap(one: Point, other: Point) -> bool:
    if one.table is not other.table:
        return False
    if one.bit is not None and other.bit is not None:
        return (one.address, one.bit) == (other.address, other.bit)
    return one.address < other.address + other.words and other.address < one.address + one.words


def _link(sheet: Sheet, file: str) -> Iterator[Problem]:
    if not sheet.linked:
        if sheet.points:
            yield Problem(file, "link", "protocol", "'none'", "rtu or tcp: the sheet names points")
        return
    alive = sheet.point(sheet.link.alive)
    expected = "the role of a point that never stands still"
    if alive is None:
        known = [point.role for point in sheet.points]
        yield Problem(file, "link", "alive", repr(sheet.link.alive), expected, nearest(sheet.link.alive, known))
    elif alive.role in ROLES and ROLES[alive.role].kind is not RoleKind.NUMBER:
        yield Problem(file, "link", "alive", repr(alive.role), f"{expected}: a counter, a clock, a noisy analogue")
    elif alive.read_clears:
        yield Problem(file, "link", "alive", f"{alive.role!r}, which reading clears", expected)


def _behaviour(sheet: Sheet, file: str) -> Iterator[Problem]:
    actuator = sheet.actuator
    spring_return = actuator.action is Action.SPRING_RETURN
    if spring_return and actuator.fail_position is None:
        yield Problem(file, "actuator", "fail_position", "nothing", "open or closed: a spring drives it there")
    if spring_return and sheet.spring is None:
        yield Problem(file, "spring", "", "nothing", "the spring's force at both ends")
    if not spring_return and not actuator.at_zero_pressure.strip():
        yield Problem(file, "actuator", "at_zero_pressure", "nothing", "where line force or weight takes the stem")
    if actuator.mechanism == "slotted arm" and actuator.arm_radius_mm is None:
        yield Problem(file, "actuator", "arm_radius_mm", "nothing", "the radius of the slotted arm")
    if actuator.mechanism == "rack and gear" and actuator.gear_radius_mm is None:
        yield Problem(file, "actuator", "gear_radius_mm", "nothing", "the pitch radius of the gear")
    yield from _emergency(sheet, file)
    if sheet.valve.normally_closed_vent and sheet.partial_stroke is not None:
        yield Problem(
            file,
            "partial_stroke",
            "",
            "a partial stroke",
            "none: a normally closed vent would release product",
        )


def _emergency(sheet: Sheet, file: str) -> Iterator[Problem]:
    """A stroke by stored energy needs the energy, and the accumulator that drives needs its limits."""
    drives = sheet.accumulator is not None and sheet.accumulator.drives is not None
    if drives and sheet.strokes.emergency is None:
        yield Problem(file, "strokes", "emergency", "nothing", "limits of the stroke that the accumulator drives")
    if sheet.strokes.emergency is not None and not drives:
        yield Problem(file, "accumulator", "drives", "nothing", "the end that the emergency stroke goes to")
    if sheet.modulating is not None:
        for name in ("command", "feedback"):
            signal = getattr(sheet.modulating, name)
            if signal.at_closed == signal.at_open:
                yield Problem(file, "modulating", name, f"{signal.at_closed:g} at both ends", "a span between the ends")


def _orders(sheet: Sheet, file: str) -> Iterator[Problem]:
    """Figures that must follow one another: `a < b < c`."""
    pump, tank, actuator = sheet.pump, sheet.tank, sheet.actuator
    chains: list[tuple[str, object, tuple[str, ...]]] = [
        ("actuator", actuator, ("rod_mm", "bore_mm")),
        ("pump", pump, ("low_alarm_bar", "cut_in_bar", "cut_out_bar", "relief_bar")),
        ("tank", tank, ("low_switch_l", "fill_l", "volume_l")),
        ("environment", sheet.environment, ("coldest_c", "hottest_c")),
    ]
    if sheet.monitor is not None:
        chains.append(("monitor", sheet.monitor, ("low_trip_bar", "high_trip_bar", "range_bar")))
    if sheet.environment.heater_w is not None:
        chains.append(("environment", sheet.environment, ("pump_inhibited_below_c", "heater_on_c", "heater_off_c")))
    if sheet.partial_stroke is not None:
        chains.append(("partial_stroke", sheet.partial_stroke, ("target_pct", "guard_travel_pct")))
    for place, holder, names in chains:
        for lower, upper in itertools.pairwise(names):
            low, high = getattr(holder, lower), getattr(holder, upper)
            if low is not None and high is not None and low >= high:
                yield Problem(file, place, lower, f"{low:g}", f"less than {upper}, which is {high:g}")


def _fluid(sheet: Sheet, file: str) -> Iterator[Problem]:
    for celsius, viscosity in sheet.fluid.viscosity_at_c.items():
        try:
            float(celsius)
        except ValueError:
            yield Problem(file, "fluid", f"viscosity_at_c {celsius!r}", "no temperature", "degrees Celsius as a number")
        if viscosity <= 0:
            yield Problem(file, "fluid", f"viscosity_at_c {celsius!r}", f"{viscosity:g}", "mm²/s above 0")


def _ids(sheet: Sheet, file: str) -> Iterator[Problem]:
    for field, items in (("sources", sheet.sources), ("volumes", sheet.volumes)):
        ids = [item.id for item in items]
        for name in sorted({name for name in ids if ids.count(name) > 1}):
            yield Problem(file, f"{field} {name!r}", "id", "the same id twice", "one id each")
        if not all(ids):
            yield Problem(file, field, "id", "nothing", "an id for each: evidence is recorded by it")


def _sources(sheet: Sheet, file: str) -> Iterator[Problem]:
    kinds = {source.kind for source in sheet.sources}
    for kind in ("motor", "control"):
        if kind not in kinds:
            yield Problem(file, "sources", kind, "no such source", f"the isolating device of the {kind} supply")
    for source in sheet.sources:
        place = f"source {source.id!r}"
        if source.kind in _LOCKED_FIRST and source.locked != "first":
            yield Problem(
                file, place, "locked", repr(source.locked), f"first: a {source.kind} is locked before bleeding"
            )
        if source.kind in _LOCKED_AFTER_ZERO and source.locked != "after zero":
            why = "after zero: the gauges are seen to fall with control still on"
            yield Problem(file, place, "locked", repr(source.locked), why)
        if source.kind == "motor" and not source.off_in_control:
            yield Problem(file, place, "off_in_control", "false", "true: the motor stays locked in control")
        if source.kind == "control" and source.off_in_control:
            yield Problem(file, place, "off_in_control", "true", "false: control is what is on in control")


def _volumes(sheet: Sheet, file: str) -> Iterator[Problem]:
    oil = [volume for volume in sheet.volumes if volume.kind == "oil"]
    if not oil:
        yield Problem(file, "volumes", "", "no oil volume", "every trapped volume: each side of the cylinder and so on")
    for volume in oil:
        place = f"volume {volume.id!r}"
        if not volume.gauge:
            expected = "its gauge: a transmitter gives no reading once control is off"
            yield Problem(file, place, "gauge", "nothing", expected)
        if not volume.bleed:
            yield Problem(file, place, "bleed", "nothing", "how the oil is let out")
        if volume.transmitter and not sheet.has(volume.transmitter):
            known = [point.role for point in sheet.points]
            yield Problem(
                file,
                place,
                "transmitter",
                repr(volume.transmitter),
                "a role of a point",
                nearest(volume.transmitter, known),
            )
