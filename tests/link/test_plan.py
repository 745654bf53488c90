"""The requests of a polling cycle."""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.link.faults import PlanError
from commission.link.plan import (
    BITS_LIMIT,
    REGISTERS_LIMIT,
    Bridge,
    answer_bytes,
    cycle_time_s,
    joined,
    plan_beside,
    plan_for,
)
from commission.sample import Block, ReadPlan, Table
from commission.sheet import ROLES, Point, RoleKind, Sheet
from commission.sheet.decode import Decoder
from tests.link.lines import demo_sheet

SHEET = demo_sheet()


def _with_points(*points: Point) -> Sheet:
    return msgspec.structs.replace(SHEET, points=points)


def _travel(address: int, **more: object) -> Point:
    return msgspec.structs.replace(SHEET.points[1], address=address, **more)


def test_neighbours_are_one_request() -> None:
    """Travel and pressure lie side by side, the two limits too: two requests, and not a register more."""
    plan = plan_for(SHEET, ["travel", "cylinder_pressure", "open_limit", "closed_limit"])
    assert set(plan.blocks) == {Block(Table.INPUT, 10, 4), Block(Table.DISCRETE, 0, 2)}
    assert plan.unit_id == SHEET.link.unit_id


def test_small_gap_is_bridged_and_a_large_one_is_not() -> None:
    """A gap of 8 registers costs 16 bytes, less than a request of 13 bytes and its silences; 9 are not bridged."""
    for gap, blocks in ((0, 1), (8, 1), (9, 2)):
        pressure = msgspec.structs.replace(SHEET.points[2], address=102 + gap)
        plan = plan_for(_with_points(_travel(100), pressure), ["travel", "cylinder_pressure"])
        assert len(plan.blocks) == blocks
        unbridged = plan_for(_with_points(_travel(100), pressure), ["travel", "cylinder_pressure"], bridge=Bridge.NAMED)
        assert len(unbridged.blocks) == (1 if gap == 0 else 2)


def test_plan_beside_holds_each_address_once_and_joined_makes_runs_of_them() -> None:
    """Travel and its two neighbours, and none below 0; what reading clears is left out; a run keeps to one request."""
    clears = msgspec.structs.replace(SHEET.points[2], role="starts_total", type="u16", address=102, read_clears=True)
    plan = plan_beside(_with_points(_travel(100), clears), ["travel"])
    assert plan.blocks == tuple(Block(Table.INPUT, address, 1) for address in (99, 100, 101))
    assert joined(plan.blocks) == (Block(Table.INPUT, 99, 3),)
    assert plan_beside(_with_points(_travel(0)), ["travel"]).blocks[0] == Block(Table.INPUT, 0, 1)
    many = [Block(Table.INPUT, address, 1) for address in range(REGISTERS_LIMIT + 1)]
    assert [block.count for block in joined(many)] == [REGISTERS_LIMIT, 1]


def test_a_unit_that_refuses_what_the_sheet_does_not_name_is_still_asked_for_whole_runs() -> None:
    """A gap of named points is still bridged, one with a single unnamed address in it is not; in the end none is."""
    pressure = msgspec.structs.replace(SHEET.points[2], address=104)
    between = msgspec.structs.replace(SHEET.points[2], role="line_pressure", address=102)
    asked = ["travel", "cylinder_pressure"]
    named = _with_points(_travel(100), between, pressure)
    assert plan_for(named, asked, bridge=Bridge.NAMED).blocks == (Block(Table.INPUT, 100, 6),)
    assert len(plan_for(named, asked, bridge=Bridge.NONE).blocks) == 2
    unnamed = _with_points(_travel(100), msgspec.structs.replace(between, type="u16"), pressure)
    assert len(plan_for(unnamed, asked, bridge=Bridge.NAMED).blocks) == 2


def test_point_that_reading_clears_is_neither_polled_nor_bridged() -> None:
    """A point that reading changes is refused by name, and a gap that holds one is not read."""
    clears = msgspec.structs.replace(SHEET.points[2], role="starts_total", type="u16", address=103, read_clears=True)
    pressure = msgspec.structs.replace(SHEET.points[2], address=105)
    sheet = _with_points(_travel(100), clears, pressure)
    assert len(plan_for(sheet, ["travel", "cylinder_pressure"]).blocks) == 2
    with pytest.raises(PlanError, match="'starts_total' is not polled"):
        plan_for(sheet, ["starts_total"])


def test_unknown_role_is_named_with_its_nearest() -> None:
    """A role that the sheet lacks is an error that helps, and no role at all is one too."""
    with pytest.raises(PlanError, match="did you mean 'travel'"):
        plan_for(SHEET, ["travle"])
    with pytest.raises(PlanError, match="nothing to read"):
        plan_for(SHEET, [])


def test_list_that_counts_from_one_is_asked_one_lower() -> None:
    """The wire counts from 0 whatever the list does."""
    sheet = msgspec.structs.replace(SHEET, link=msgspec.structs.replace(SHEET.link, counts_from=1))
    assert plan_for(sheet, ["travel"]).blocks == (Block(Table.INPUT, 9, 2),)


ALL_ROLES = sorted(point.role for point in SHEET.points)


@given(st.sets(st.sampled_from(ALL_ROLES), min_size=1))
def test_every_role_is_read_once_within_the_limits(roles: set[str]) -> None:
    """Whatever is asked for, each role is covered, blocks do not overlap, and no request is too long."""
    plan = plan_for(SHEET, roles)
    assert roles <= Decoder(SHEET, plan).roles
    seen: set[tuple[Table, int]] = set()
    for block in plan.blocks:
        assert block.count <= (BITS_LIMIT if block.table.holds_bits else REGISTERS_LIMIT)
        addresses = {(block.table, block.address + offset) for offset in range(block.count)}
        assert not addresses & seen
        seen |= addresses


@given(st.sets(st.integers(0, 400), min_size=2, max_size=40))
def test_merging_never_makes_a_cycle_longer(addresses: set[int]) -> None:
    """With points anywhere, the plan is no slower than one request a point."""
    roles = [role for role in ROLES if ROLES[role].kind is RoleKind.BIT]
    points = [
        Point(role=role, table=Table.INPUT, address=address, bit=0, one_means=ROLES[role].true_word)
        for role, address in zip(roles, sorted(addresses), strict=False)
    ]
    sheet = _with_points(*points)
    merged = plan_for(sheet, [point.role for point in points])
    single = ReadPlan(11, tuple(Block(Table.INPUT, point.address, 1) for point in points))
    fast = msgspec.structs.replace(SHEET.link, baud=19200)
    slow = msgspec.structs.replace(SHEET.link, baud=1200)
    for settings in (fast, slow):
        assert cycle_time_s(merged, settings) <= cycle_time_s(single, settings) + 1e-12


def test_cycle_time_adds_the_units_own_turnaround() -> None:
    """Each request costs the turnaround once; TCP frames cost nothing else."""
    plan = ReadPlan(11, (Block(Table.INPUT, 0, 2), Block(Table.DISCRETE, 0, 8)))
    assert answer_bytes(plan.blocks[0]) == 9
    assert answer_bytes(plan.blocks[1]) == 6
    bare = cycle_time_s(plan, SHEET.link)
    assert bare == pytest.approx((8 + 9 + 8 + 6 + 4 * 3.5) * 11 / 19200)
    assert cycle_time_s(plan, SHEET.link, 0.02) == pytest.approx(bare + 0.04)
    tcp = msgspec.structs.replace(SHEET.link, protocol="tcp")
    assert cycle_time_s(plan, tcp, 0.02) == pytest.approx(0.04)
