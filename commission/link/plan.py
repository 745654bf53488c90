"""
Which requests read a set of roles in the shortest cycle.

Neighbours are merged into one request while the bytes of the gap between them cost less than a request of their own.
Addresses that the sheet does not name are read only inside a gap of at most 8 registers (64 bits) between two named
points; for a unit that refuses even that there is a plan that bridges named points only, and one that bridges nothing.
Points that reading changes (`read_clears`) are never polled, nor bridged.
"""

from collections.abc import Callable, Collection, Iterable
from enum import Enum

import msgspec

from commission.content import nearest
from commission.link.faults import PlanError
from commission.link.serial_timing import character_s, gap_s
from commission.sample import Block, ReadPlan, Table
from commission.sheet import Point, Sheet
from commission.sheet.model import LinkSettings

REGISTERS_LIMIT = 125
BITS_LIMIT = 2000
"""Most that one request may read (Modbus Application Protocol V1.1b3, 6.1 to 6.4)."""

LAST_ADDRESS = 0xFFFF

BRIDGE_REGISTERS = 8
BRIDGE_BITS = 64

_REQUEST_BYTES = 8
_ANSWER_FRAME_BYTES = 5
"""Unit identifier, function, byte count and CRC around the data of an answer."""


class Bridge(Enum):
    """Which gaps between two points that are wanted may be read too, from the shortest cycle to the longest."""

    ALL = "whatever is in them"
    NAMED = "other points of the sheet"
    NONE = "nothing"

    def over(self, gap: range, named: Collection[int]) -> bool:
        """Whether a gap may be read, given the addresses that the sheet names."""
        return self is Bridge.ALL or (self is Bridge.NAMED and all(address in named for address in gap))


def plan_for(
    sheet: Sheet, roles: Iterable[str], unit_id: int | None = None, *, bridge: Bridge = Bridge.ALL
) -> ReadPlan:
    """
    The plan that reads these roles.

    Args:
        sheet: The unit's sheet.

        roles: What is to be read.

        unit_id: Where the address names another than the sheet.

        bridge: Which small gaps between points may be read too.

    Raises:
        PlanError: the sheet has no such point, or reading it changes it.
    """
    points = [_pollable(sheet, role) for role in dict.fromkeys(roles)]
    if not points:
        raise PlanError("there is nothing to read: no role was asked for")
    blocks: list[Block] = []
    for table in Table:
        wanted = sorted({_span(sheet, point) for point in points if point.table is table})
        named = _addresses(sheet, table, read_clears=False)
        cleared = _addresses(sheet, table, read_clears=True)

        def readable(gap: range, named: set[int] = named, cleared: set[int] = cleared) -> bool:
            return not gap or (bridge.over(gap, named) and cleared.isdisjoint(gap))

        blocks += _merged(table, wanted, readable)
    return ReadPlan(sheet.link.unit_id if unit_id is None else unit_id, tuple(blocks))


def plan_beside(sheet: Sheet, roles: Iterable[str], unit_id: int | None = None) -> ReadPlan:
    """
    Every address of these roles and the one beside each on either side, one block an address, none twice.

    Raises:
        PlanError: as for `plan_for`.
    """
    never = {
        (point.table, sheet.wire_address(point) + offset)
        for point in sheet.points
        if point.read_clears
        for offset in range(point.words)
    }
    places = {
        (point.table, address)
        for point in (_pollable(sheet, role) for role in dict.fromkeys(roles))
        for address in range(sheet.wire_address(point) - 1, sheet.wire_address(point) + point.words + 1)
        if 0 <= address <= LAST_ADDRESS
    }
    rising = sorted(places - never, key=_address)
    blocks = tuple(Block(table, address, 1) for table in Table for at, address in rising if at is table)
    return ReadPlan(sheet.link.unit_id if unit_id is None else unit_id, blocks)


def joined(blocks: Iterable[Block]) -> tuple[Block, ...]:
    """Blocks of one address each, in rising order, with neighbours in one request as far as one may reach."""
    runs: list[Block] = []
    for block in blocks:
        last = runs[-1] if runs else None
        limit = BITS_LIMIT if block.table.holds_bits else REGISTERS_LIMIT
        if last and last.table is block.table and last.address + last.count == block.address and last.count < limit:
            runs[-1] = Block(last.table, last.address, last.count + 1)
        else:
            runs.append(block)
    return tuple(runs)


def _address(place: tuple[Table, int]) -> int:
    return place[1]


def cycle_time_s(plan: ReadPlan, settings: LinkSettings, turnaround_s: float = 0.0) -> float:
    """
    How long one cycle of a plan takes, in seconds.

    With the default turnaround it is the shortest that the line allows: bytes of 11 bits, and a silence of 3.5
    characters before and after each answer (MODBUS over Serial Line V1.02, 2.5.1.1). TCP frames take no time here.

    Args:
        plan: The plan.

        settings: The sheet's link settings.

        turnaround_s: What the unit itself takes to answer; the sheet's slowest for the longest legal cycle.
    """
    total_s = len(plan.blocks) * turnaround_s
    if settings.protocol == "rtu":
        total_s += sum(
            (_REQUEST_BYTES + answer_bytes(block)) * character_s(settings.baud) + 2 * gap_s(settings.baud)
            for block in plan.blocks
        )
    return total_s


def answer_bytes(block: Block) -> int:
    """Bytes of the serial answer to reading a block."""
    return _ANSWER_FRAME_BYTES + (-(-block.count // 8) if block.table.holds_bits else 2 * block.count)


class _Span(msgspec.Struct, frozen=True, order=True):
    """Addresses from `first` to before `end`."""

    first: int
    end: int


def _pollable(sheet: Sheet, role: str) -> Point:
    point = sheet.point(role)
    if point is None:
        known: Collection[str] = [point.role for point in sheet.points]
        guess = nearest(role, known)
        hint = f"; did you mean {guess!r}?" if guess else ""
        raise PlanError(f"the sheet of {sheet.identity.tag} has no point {role!r}{hint}")
    if point.read_clears:
        raise PlanError(f"{role!r} is not polled: reading it changes it at the unit")
    return point


def _span(sheet: Sheet, point: Point) -> _Span:
    first = sheet.wire_address(point)
    return _Span(first, first + point.words)


def _addresses(sheet: Sheet, table: Table, *, read_clears: bool) -> set[int]:
    """Where the sheet names points of a table: those that reading changes, or the others."""
    return {
        sheet.wire_address(point) + offset
        for point in sheet.points
        if point.table is table and point.read_clears is read_clears
        for offset in range(point.words)
    }


def _merged(table: Table, wanted: list[_Span], readable: Callable[[range], bool]) -> Iterable[Block]:
    limit = BITS_LIMIT if table.holds_bits else REGISTERS_LIMIT
    longest_gap = BRIDGE_BITS if table.holds_bits else BRIDGE_REGISTERS
    runs: list[_Span] = []
    for span in wanted:
        if runs and span.end <= runs[-1].end:
            continue
        if runs and _joins(runs[-1], span, limit, longest_gap) and readable(range(runs[-1].end, span.first)):
            runs[-1] = _Span(runs[-1].first, span.end)
        else:
            runs.append(span)
    return [Block(table, run.first, run.end - run.first) for run in runs]


def _joins(run: _Span, span: _Span, limit: int, longest_gap: int) -> bool:
    return span.first - run.end <= longest_gap and span.end - run.first <= limit
