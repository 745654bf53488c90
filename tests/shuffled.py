"""
Register maps shuffled by word order, base and scale: what the unit has, and what the laptop's sheet says of it.

The registers are encoded by the practice unit's own codec, which shares nothing with the program's.
"""

import random
from collections.abc import Mapping

import msgspec

from commission.analysis.wiring_map import Deviation
from commission.practice.registers import words_of
from commission.sample import Block, BlockRead, ReadPlan, Sample, Table
from commission.sheet import Sheet
from commission.sheet.decode import Registers
from tests.supervise.rig import demo_sheet

TRUTH: Mapping[str, float] = {
    "identity": 1101.0,
    "travel": 0.0007,
    "cylinder_pressure": 0.07e5,
    "supply_voltage": 24.37,
    "oil_temperature": 19.7,
    "motor_current": 0.0,
    "fluid_level": 0.92,
    "starts_total": 37.0,
    "run_time_total": 4210.0,
    "feedback_current": 0.004012,
    "pipeline_pressure": 61.83e5,
}
"""What a closed valve in control shows, in the roles' units."""

ORDERS = ("ABCD", "CDAB", "BADC", "DCBA")
SCALED = ("supply_voltage", "pipeline_pressure")
FACTORS = (10.0, 0.1, 100.0, 0.01)


class Shuffled(msgspec.Struct, frozen=True):
    """One case: the laptop's sheet, the unit's registers, and what the sheet has wrong."""

    sheet: Sheet
    unit: Sheet
    wrong: frozenset[Deviation]


def shuffled(seed: int) -> Shuffled:
    """A sheet with up to three things wrong: the order of words, the base, the scale of one point; at least one is."""
    draw = random.Random(seed)
    unit = demo_sheet()
    while True:
        order = draw.choice(ORDERS) if draw.random() < 0.6 else unit.link.order
        shift = draw.choice((-1, 1)) if draw.random() < 0.5 else 0
        role = draw.choice(SCALED) if draw.random() < 0.5 else ""
        factor = draw.choice(FACTORS)
        if order != unit.link.order or shift or role:
            break
    wrong = {Deviation("", "order", unit.link.order)} if order != unit.link.order else set()
    wrong |= {Deviation("", "shift", shift)} if shift else set()
    points = []
    for point in unit.points:
        moved = msgspec.structs.replace(point, address=max(0, point.address - shift) if point.role != "identity" else 0)
        if point.role == role:
            wrong |= {Deviation(role, "scale", point.scale)}
            moved = msgspec.structs.replace(moved, scale=point.scale * factor)
        points.append(moved)
    link = msgspec.structs.replace(unit.link, order=order)
    return Shuffled(msgspec.structs.replace(unit, link=link, points=tuple(points)), unit, frozenset(wrong))


def registers_of(unit: Sheet, values: Mapping[str, float] = TRUTH) -> Registers:
    """All input registers of a unit that shows these values, in one sample."""
    at: dict[int, int] = {}
    for point in unit.points:
        if point.table is Table.INPUT and point.bit is None and point.role in values:
            words = words_of(unit, point, values[point.role])
            at.update({unit.wire_address(point) + offset: word for offset, word in enumerate(words)})
    blocks = tuple(Block(Table.INPUT, address, 1) for address in sorted(at))
    reads = tuple(BlockRead(1_000, 10, (at[block.address],)) for block in blocks)
    return Registers(ReadPlan(unit.link.unit_id, blocks), Sample(1, reads))
