"""
Is the register map right? Values held against references, and against what the sheet makes possible; where they are
absurd, which other reading of the same registers, or of their neighbours, is not.

A map is usually wrong in one place: the order of words, whether the list counts from 0 or 1, or the scale of one point.
So all points are explained together: each order and base is tried for the whole map, then one deviation for a point by
itself, and the explanation with the fewest deviations wins; two that are as short are both named, and neither is
offered.

Nothing is proved by a value whose pattern does not tell the orders apart: half of its bits zero (0, 50, 62.5, 100), or
both words equal; nor by one that a neighbour, or another order, gives as well.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence

import msgspec

from commission.sample import Table
from commission.sheet import Point, Sheet
from commission.sheet.decode import reading_of
from commission.sheet.roles import ROLES

ORDERS = ("ABCD", "CDAB", "BADC", "DCBA")
SHIFTS = (0, -1, 1)
"""How far the true address may lie from the sheet's: a list that counts from the other of 0 and 1."""

PERMITTED: Mapping[str, tuple[float, float]] = {
    "travel": (0.0, 0.01),
    "cylinder_pressure": (0.01, 0.5e5),
    "cylinder_pressure_b": (0.01, 0.5e5),
    "system_pressure": (0.01, 0.5e5),
    "pipeline_pressure": (0.01, 0.5e5),
    "supply_voltage": (0.01, 0.0),
    "oil_temperature": (0.0, 2.0),
    "motor_current": (0.05, 0.2),
    "fluid_level": (0.0, 0.05),
    "command_current": (0.0, 0.0001),
    "feedback_current": (0.0, 0.0001),
}
"""How far register and reference may differ: a share of the reference and an amount in the role's unit, added (common
practice, no source)."""

_SCALES = (10.0, 0.1, 100.0, 0.01, 1000.0, 0.001, -1.0)
_UNITS: Mapping[str, tuple[str, ...]] = {"Pa": ("bar", "kPa", "psi", "MPa"), "degC": ("°C", "°F"), "A": ("mA", "A")}
_TYPES: Mapping[str, tuple[str, ...]] = {
    "u16": ("i16",), "i16": ("u16",), "f32": ("u32", "i32"), "u32": ("f32", "i32"), "i32": ("f32", "u32"),
}  # fmt: skip
_UNEXPLAINED = 25
"""What an absurd point costs, where a deviation costs 10: no map is bent in three places to save one point."""

WordAt = Callable[[Table, int], int | None]
"""What lies at a wire address, or None where it was not read."""


class Reference(msgspec.Struct, frozen=True, kw_only=True):
    """
    What a point should read.

    Args:
        role: The point.

        value: By the reference, in the role's unit.

        uncertainty: Its expanded uncertainty, in the role's unit.
    """

    role: str
    value: float
    uncertainty: float

    @property
    def permitted(self) -> float:
        """How far the register may differ from it, in the role's unit, the reference's own uncertainty included."""
        share, amount = PERMITTED.get(self.role, (0.01, 0.0))
        return abs(self.value) * share + amount + self.uncertainty


class Deviation(msgspec.Struct, frozen=True):
    """One field of one point, or of the link where `role` is empty, that the unit has otherwise than the sheet."""

    role: str
    field: str
    value: str | int | float


class Explained(msgspec.Struct, frozen=True, kw_only=True):
    """
    What makes sense of the values.

    Args:
        deviations: What the sheet has wrong; empty where it is right.

        left: Roles that stay absurd whatever is tried.

        rivals: Other explanations that are as short; where there are any, none is offered.
    """

    deviations: tuple[Deviation, ...]
    left: tuple[str, ...] = ()
    rivals: tuple[tuple[Deviation, ...], ...] = ()


def possible(sheet: Sheet, role: str) -> tuple[float, float] | None:
    """The range that the sheet makes possible for a point, in the role's unit; None where it says nothing of it."""
    relief_pa = sheet.pump.relief_bar * 1.1e5
    monitor_pa = None if sheet.monitor is None else sheet.monitor.range_bar * 1.05e5
    ranges: Mapping[str, tuple[float, float] | None] = {
        "travel": (-0.05, 1.05),
        "cylinder_pressure": (-1e5, relief_pa),
        "cylinder_pressure_b": (-1e5, relief_pa),
        "system_pressure": (-1e5, relief_pa),
        "pipeline_pressure": None if monitor_pa is None else (-1e5, monitor_pa),
        "supply_voltage": (0.5 * sheet.supply.motor_v, 1.5 * sheet.supply.motor_v),
        "oil_temperature": (sheet.environment.coldest_c - 10, sheet.environment.hottest_c + 60),
        "motor_current": (-0.5, 2 * sheet.supply.starting_a),
        "fluid_level": (0.0, 1.05),
        "command_current": (-0.0005, 0.0225),
        "feedback_current": (-0.0005, 0.0225),
    }
    return ranges.get(role)


def read_as(sheet: Sheet, point: Point, word_at: WordAt, shift: int = 0, **fields: object) -> float | None:
    """
    A point's value if the sheet said otherwise, in the role's unit; None where the registers were not read or hold no
    number.

    Args:
        sheet: The unit's sheet.

        point: The point.

        word_at: The registers.

        shift: How many addresses further the point lies.

        fields: Fields of the point that are otherwise: `order`, `scale`, `unit`, `type`.
    """
    other = msgspec.structs.replace(point, **fields) if fields else point
    first = sheet.wire_address(point) + shift
    words = [word_at(point.table, first + offset) for offset in range(other.words)]
    if any(word is None for word in words):
        return None
    value = reading_of(sheet, other, tuple(word for word in words if word is not None))
    return value if math.isfinite(value) else None


def is_round(point: Point, words: Sequence[int]) -> bool:
    """Whether a pattern does not tell the orders of words apart, or is what a dead register reads."""
    if point.words == 1:
        return words[0] == 0
    return 0 in words or words[0] == words[1]


def is_mute(sheet: Sheet, point: Point, word_at: WordAt, reference: Reference) -> bool:
    """
    Whether the value cannot tell a right map from a wrong one.

    So it is where, of all readings that fit the reference, the nearest has a round pattern; and where the reference is
    a zero, with which every dead register agrees.
    """
    if abs(reference.value) <= reference.uncertainty and ROLES[point.role].unit != "degC":
        return True
    fits: list[tuple[float, bool]] = []
    for shift in SHIFTS:
        first = sheet.wire_address(point) + shift
        words = [word_at(point.table, first + offset) for offset in range(point.words)]
        for order in ORDERS if point.words == 2 else ("ABCD",):
            value = read_as(sheet, point, word_at, shift, order=order)
            if _agrees(value, reference) and value is not None:
                fits.append((abs(value - reference.value), is_round(point, [word or 0 for word in words])))
    return bool(fits) and min(fits)[1]


def alternatives(sheet: Sheet, point: Point, word_at: WordAt, reference: Reference) -> frozenset[tuple[int, str]]:
    """
    Which other places and orders give the reference about as well as the sheet's own: shift and order of each.

    The most significant word alone gives a float to within 0.4 %, and another order one address further shares it: so
    what counts is how near each comes, not whether it lies within what is permitted. A 16-bit value has no order, and
    is listed under all of them.
    """
    own = point.order or sheet.link.order
    mine = read_as(sheet, point, word_at)
    room = 1.5 * max(reference.uncertainty, math.inf if mine is None else abs(mine - reference.value))
    found = set()
    for shift in SHIFTS:
        for order in ORDERS:
            value = read_as(sheet, point, word_at, shift, order=order)
            other = shift != 0 or (point.words == 2 and order != own)
            if other and value is not None and abs(value - reference.value) <= room:
                found.add((shift, order))
    return frozenset(found)


def mistaken_for(sheet: Sheet, point: Point, others: frozenset[tuple[int, str]]) -> str:
    """What a value could be mistaken for if one thing were wrong, in words; empty where it could not."""
    own = point.order or sheet.link.order
    shifts = sorted(shift for shift, order in others if shift and order == own)
    orders = sorted(order for shift, order in others if not shift and point.words == 2)
    if shifts:
        return "the neighbouring register"
    return f"the order {orders[0]}" if orders else ""


Told = tuple[Reference, WordAt]
"""What a point should read, and the registers of that moment, its neighbours among them."""


def explain(sheet: Sheet, told: Sequence[Told], word_at: WordAt, ranged: Sequence[str]) -> Explained:
    """
    The shortest explanation of all values together.

    Args:
        sheet: The sheet as it is.

        told: What some points should read.

        word_at: The registers of one moment, for the other points.

        ranged: Roles of which only the possible range is known.
    """
    found: list[tuple[int, tuple[Deviation, ...], tuple[str, ...]]] = []
    for order in (sheet.link.order, *(order for order in ORDERS if order != sheet.link.order)):
        for shift in SHIFTS:
            found += _under(sheet, told, word_at, ranged, order, shift)
    least = min(cost for cost, _, _ in found)
    best = list(dict.fromkeys((deviations, left) for cost, deviations, left in found if cost == least))
    deviations, left = best[0]
    return Explained(deviations=deviations, left=left, rivals=tuple(other for other, _ in best[1:]))


def _under(
    sheet: Sheet,
    told: Sequence[Told],
    word_at: WordAt,
    ranged: Sequence[str],
    order: str,
    shift: int,
) -> Iterator[tuple[int, tuple[Deviation, ...], tuple[str, ...]]]:
    """The shortest explanations if the whole map had this order and lay so far off; two where one point has two."""
    link = msgspec.structs.replace(sheet, link=msgspec.structs.replace(sheet.link, order=order))
    whole = [Deviation("", "order", order)] if order != sheet.link.order else []
    whole += [Deviation("", "shift", shift)] if shift else []
    ways: list[list[tuple[Deviation, ...]]] = []
    left: list[str] = []
    for reference, words_then in told:
        point = sheet.point(reference.role)
        if point is None:
            continue
        own = _own(link, point, words_then, reference, shift)
        ways.append(own)
        left += [] if own else [reference.role]
    for role in ranged:
        point, limits = sheet.point(role), possible(sheet, role)
        value = None if point is None else read_as(link, point, word_at, shift)
        if point is not None and limits is not None and not (value is not None and limits[0] <= value <= limits[1]):
            left.append(role)
    least = [own[0] for own in ways if own]
    cost = _cost(whole) + sum(_cost(own) for own in least) + _UNEXPLAINED * len(left)
    yield cost, (*whole, *(one for own in least for one in own)), tuple(left)
    for number, own in enumerate([own for own in ways if own]):
        for other in own[1:]:
            others = [*least[:number], other, *least[number + 1 :]]
            yield cost, (*whole, *(one for each in others for one in each)), tuple(left)


def _cost(deviations: Sequence[Deviation]) -> int:
    """Order and base are the whole map's as a rule: one point with its own is less likely than all of them."""
    return sum(11 if known.role and known.field in ("order", "address") else 10 for known in deviations)


def _own(sheet: Sheet, point: Point, word_at: WordAt, reference: Reference, shift: int) -> list[tuple[Deviation, ...]]:
    """The shortest deviations of one point that make it agree: none at all, else every single one that does."""
    if _agrees(read_as(sheet, point, word_at, shift), reference):
        return [()]
    found: dict[str, tuple[Deviation, ...]] = {}
    for deviation in _singles(sheet, point):
        if deviation.field == "address":
            value = read_as(sheet, point, word_at, shift + int(deviation.value) - point.address)
        else:
            value = read_as(sheet, point, word_at, shift, **{deviation.field: deviation.value})
        if value is not None and _agrees(value, reference):
            found.setdefault(f"{value:.6g}", (deviation,))  # kPa for bar and a scale of 0.01 are one thing
    return list(found.values())


def _agrees(value: float | None, reference: Reference) -> bool:
    return value is not None and abs(value - reference.value) <= reference.permitted


def _singles(sheet: Sheet, point: Point) -> Iterator[Deviation]:
    for factor in _SCALES:
        yield Deviation(point.role, "scale", float(f"{point.scale * factor:.12g}"))
    for unit in _UNITS.get(ROLES[point.role].unit, ()):
        if unit != point.unit:
            yield Deviation(point.role, "unit", unit)
    for kind in _TYPES[point.type]:
        yield Deviation(point.role, "type", kind)
    for shift in SHIFTS[1:]:
        yield Deviation(point.role, "address", point.address + shift)
    if point.words == 2:
        own = point.order or sheet.link.order
        for order in ORDERS:
            if order != own:
                yield Deviation(point.role, "order", order)
