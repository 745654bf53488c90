"""
What came of comparing values with meter, gauge and thermometer: proved, proves nothing, read wrongly by the sheet, or
different by every reading.
"""

from collections.abc import Sequence

import msgspec

from commission.analysis.wiring import Finding, PointSeen, line_for, name_of_role
from commission.analysis.wiring_map import (
    Deviation,
    Explained,
    Reference,
    WordAt,
    alternatives,
    explain,
    is_mute,
    mistaken_for,
    possible,
    read_as,
)
from commission.quantity import conversion
from commission.sheet import Point, RoleKind, Sheet
from commission.sheet.decode import Registers
from commission.sheet.roles import ROLES

_ORDER_WORDS = {
    "ABCD": "most significant word first",
    "CDAB": "words swapped",
    "BADC": "bytes swapped in each word",
    "DCBA": "all bytes the other way round",
}


class Compared(msgspec.Struct, frozen=True, kw_only=True):
    """
    One point and what a person read at the same time.

    Args:
        reference: What it should read, with uncertainty.

        typed: As it was typed.

        by: Who read it.

        value: What the sheet makes of the registers, over the settled time; None where they hold no number.

        spread: Greatest less smallest of it in that time, in the role's unit.

        registers: All registers of a sample of that time.

        at_ns: Unit time of that sample.

        half_width_ns: Half-width of that moment.
    """

    reference: Reference
    typed: str
    by: str
    value: float | None
    spread: float
    registers: Registers
    at_ns: int
    half_width_ns: int


def judge_values(sheet: Sheet, compared: Sequence[Compared], others: Sequence[str]) -> tuple[PointSeen, ...]:
    """
    What came of each comparison, and of the map as a whole where a value is absurd.

    Args:
        sheet: The unit's sheet.

        compared: The points with a reference.

        others: Points without a reference that the last sample holds; they are only held against what is possible.
    """
    word_at: WordAt = compared[-1].registers.word if compared else lambda _table, _address: None
    telling = [(one.reference, one.registers.word) for one in compared if not _is_mute(sheet, one)]
    absurd = [role for role in others if _is_absurd(sheet, role, word_at)]
    wrong = [one.reference.role for one in compared if not _agrees(one) and not _is_mute(sheet, one)]
    explained = Explained(deviations=())
    if wrong or absurd:
        explained = explain(sheet, telling, word_at, list(others))
    everywhere = _everywhere(sheet, [one for one in compared if _agrees(one) and not _is_mute(sheet, one)])
    points = [_judged(sheet, one, explained, everywhere) for one in compared]
    points += [_impossible(sheet, role, word_at, explained) for role in absurd]
    if (wrong or absurd) and explained.deviations and not explained.rivals:
        points.append(_map_words(sheet, explained))
    return tuple(points)


def _is_mute(sheet: Sheet, one: Compared) -> bool:
    """Whether the value could not tell a right map from a wrong one."""
    point = sheet.point(one.reference.role)
    return point is None or is_mute(sheet, point, one.registers.word, one.reference)


def _agrees(one: Compared) -> bool:
    return one.value is not None and abs(one.value - one.reference.value) <= one.reference.permitted


def _everywhere(sheet: Sheet, agreeing: Sequence[Compared]) -> str:
    """A map with another base and another order that all values fit as well; empty where one of them tells it apart."""
    shared: frozenset[tuple[int, str]] | None = None
    for one in agreeing:
        point = sheet.point(one.reference.role)
        if point is not None:
            others = alternatives(sheet, point, one.registers.word, one.reference)
            shared = others if shared is None else shared & others
    return f"a list one address off in the order {min(shared)[1]}" if shared else ""


def _is_absurd(sheet: Sheet, role: str, word_at: WordAt) -> bool:
    point, limits = sheet.point(role), possible(sheet, role)
    if point is None or limits is None:
        return False
    value = read_as(sheet, point, word_at)
    return value is None or not limits[0] <= value <= limits[1]


def _judged(sheet: Sheet, one: Compared, explained: Explained, everywhere: str) -> PointSeen:
    point, words_then = sheet.point(one.reference.role), words_of(sheet, one)
    if point is None or not words_then:
        return _point(
            sheet, one, Finding.NONE, "The unit has no such register: look the point up in the unit's own list."
        )
    if _is_mute(sheet, one):
        words = (
            "Its pattern is the same, or no number, in other orders of words: a round value proves no map. Wait for "
            "another value, or make one."
        )
        return _point(sheet, one, Finding.PROVES_NOTHING, words)
    if _agrees(one):
        return _agreeing(sheet, one, point, explained, everywhere)
    if explained.rivals:
        ways = " or: ".join(_in_words(sheet, way) for way in (explained.deviations, *explained.rivals))
        return _point(
            sheet, one, Finding.WRONG_MAP, f"Two readings would fit: {ways}. Compare another value to settle it."
        )
    if one.reference.role not in explained.left and explained.deviations:
        mine = tuple(known for known in explained.deviations if known.role in ("", one.reference.role))
        return _point(sheet, one, Finding.WRONG_MAP, f"It fits if {_in_words(sheet, mine)}.")
    words = (
        "No other reading of these registers or their neighbours agrees either: look at the transmitter, the terminal "
        "and the instrument."
    )
    return _point(sheet, one, Finding.DIFFERS, words)


def _agreeing(sheet: Sheet, one: Compared, point: Point, explained: Explained, everywhere: str) -> PointSeen:
    others = alternatives(sheet, point, one.registers.word, one.reference)
    other = mistaken_for(sheet, point, others) or everywhere
    if other:
        return _point(sheet, one, Finding.PROVES_NOTHING, f"It agrees, but so does {other}: take a value that differs.")
    bent = [known for known in explained.deviations if known.role == one.reference.role]
    if bent:
        return _point(sheet, one, Finding.PROVES_NOTHING, "It agrees by chance: the rest of the map says otherwise.")
    return _point(sheet, one, Finding.RIGHT, "")


def _point(sheet: Sheet, one: Compared, finding: Finding, words: str) -> PointSeen:
    role = one.reference.role
    return PointSeen(
        role=role,
        forced=f"{name_of_role(role).capitalize()}: {one.typed} read by {one.by}",
        seen="no number"
        if one.value is None
        else f"{shown(sheet, role, one.value)}; registers {_hex(words_of(sheet, one))}",
        finding=finding,
        words=words,
        at_ns=one.at_ns,
        half_width_ns=one.half_width_ns,
    )


def _impossible(sheet: Sheet, role: str, word_at: WordAt, explained: Explained) -> PointSeen:
    point, limits = sheet.point(role), possible(sheet, role)
    value = None if point is None else read_as(sheet, point, word_at)
    reads = "no number" if value is None else shown(sheet, role, value)
    within = "" if limits is None else f"{shown(sheet, role, limits[0])} to {shown(sheet, role, limits[1])}"
    solved = role not in explained.left and explained.deviations and not explained.rivals
    words = f"It fits if {_in_words(sheet, explained.deviations)}." if solved else "Compare it with a gauge or a meter."
    return PointSeen(
        role=role,
        forced=f"{name_of_role(role).capitalize()}: possible by the sheet {within}",
        seen=reads,
        finding=Finding.WRONG_MAP if solved else Finding.DIFFERS,
        words=words,
    )


def _map_words(sheet: Sheet, explained: Explained) -> PointSeen:
    """The whole map's explanation, with the lines that a person would have to accept into the sheet."""
    return PointSeen(
        role="",
        forced="The map as a whole",
        seen=_in_words(sheet, explained.deviations),
        finding=Finding.WRONG_MAP,
        words="Nothing is changed by itself: who owns the sheet corrects it, and the proof is made again.",
        correction=tuple(line for known in explained.deviations for line in _lines(sheet, known)),
    )


def _in_words(sheet: Sheet, deviations: Sequence[Deviation]) -> str:
    return " and ".join(_cause(sheet, known) for known in deviations) or "the sheet is right"


def _cause(sheet: Sheet, known: Deviation) -> str:
    """What is wrong, in the words of somebody who has to look for it."""
    whose = f"{name_of_role(known.role)}: " if known.role else ""
    if known.field == "order":
        return f"{whose}the word order is {known.value} ({_ORDER_WORDS[str(known.value)]})"
    if known.field == "shift":
        which = "higher" if int(known.value) > 0 else "lower"
        return f"the addresses are one {which}: the list counts from {'0' if int(known.value) > 0 else '1'}"
    if known.field == "address":
        return f"{whose}the address is off by one, {known.value}"
    point = sheet.point(known.role)
    if known.field == "scale" and point is not None:
        factor = float(known.value) / point.scale
        return f"{whose}the sign is turned round" if factor == -1 else f"{whose}the scale is off by {factor:g}"
    return f"{whose}the {known.field} is {known.value}"


def _lines(sheet: Sheet, known: Deviation) -> tuple[str, ...]:
    if known.role:
        return (line_for(sheet, known.role, known.field, known.value),)
    if known.field == "order":
        return (f'link: order = "{known.value}" (the sheet says {sheet.link.order})',)
    counts_from = sheet.link.counts_from - int(known.value)
    if counts_from in (0, 1):
        return (f"link: counts_from = {counts_from} (the sheet says {sheet.link.counts_from})",)
    return (f"points: every address {'+' if int(known.value) > 0 else '-'} 1",)


def shown(sheet: Sheet, role: str, value: float) -> str:
    """A value in the unit that the sheet's list gives it in."""
    point = sheet.point(role)
    unit = ROLES[role].unit or "1"
    own = unit if point is None else point.unit
    number = conversion(own, unit).undo(value)
    return f"{number:.4g} {own if own != '1' else ''}".rstrip()


def _hex(words: Sequence[int]) -> str:
    return " ".join(f"{word:04X}" for word in words)


def measured_roles(sheet: Sheet) -> tuple[str, ...]:
    """Every measured number of the sheet that may be polled, as far as the sheet says what is possible for it."""
    return tuple(
        point.role
        for point in sheet.points
        if ROLES[point.role].kind is RoleKind.NUMBER and not point.read_clears and possible(sheet, point.role)
    )


def words_of(sheet: Sheet, one: Compared) -> tuple[int, ...]:
    """The registers of a compared point; empty where not all of them were read."""
    point = sheet.point(one.reference.role)
    if point is None:
        return ()
    first = sheet.wire_address(point)
    words = [one.registers.word(point.table, first + offset) for offset in range(point.words)]
    return () if None in words else tuple(word for word in words if word is not None)
