"""One open link, as the supervisor uses it."""

import asyncio
from pathlib import Path

import pytest

from commission.content import checklists_folder
from commission.leave import Leave, LeaveSlot
from commission.link.faults import NoAnswer, NotConnected, PlanError, UnitRefused, WriteRefused, WrongUnit
from commission.link.unit import UnitLink
from commission.link.url import TcpAddress
from commission.link.write_guard import EnergyView
from commission.sample import Block, Outcome, Silence, Table
from commission.sheet import load_sheet
from tests.link.lines import address_of, demo_sheet, open_link
from tests.link.servers import CHARACTER_S, Device, tcp_unit
from tests.supervise.rig import rig
from tests.virtual_time import run_virtual, virtual_clock

SHEET = demo_sheet()
both = pytest.mark.parametrize("rtu", [False, True], ids=["tcp", "rtu"])
LIVE = EnergyView("live", 7, frozenset({"command_open", "command_close"}))


def test_a_unit_without_a_link_is_not_reached_for() -> None:
    """Whatever address is given, nothing is sent."""
    unlinked = load_sheet(checklists_folder() / "units" / "pcv-4410.toml")[0]

    async def main() -> None:
        with pytest.raises(NotConnected, match="no link reads PCV-4410"):
            await UnitLink.connect(TcpAddress("127.0.0.1", 9, 1), unlinked, virtual_clock(), LeaveSlot())

    run_virtual(main())


@both
def test_readings_come_in_the_units_of_their_roles(*, rtu: bool) -> None:
    """47.5 % of travel in two swapped registers is read as 0.475, with its time."""

    async def main() -> None:
        device = Device()
        device.inputs |= {10: 0x0000, 11: 0x423E}  # 47.5 as a 32-bit float, low word first
        device.discretes[0] = 1
        async with open_link(device, rtu=rtu) as (link, wire):
            readings = await link.read(["travel", "open_limit"])
            assert readings.value("travel") == pytest.approx(0.475)
            assert readings.bit("open_limit") is True
            truth_ns = wire.device.acted_at[-1][1] * 1e9
            nearest = min(abs(truth_ns - readings[role].at_ns) for role in ("travel", "open_limit"))
            assert nearest <= readings["travel"].half_width_ns
            assert link.connected

    run_virtual(main())


def test_plan_falls_back_where_the_unit_refuses_a_bridged_gap() -> None:
    """A gap that the unit does not have is not read; without the gap every point is."""

    async def main() -> None:
        device = Device()
        del device.inputs[17]
        async with open_link(device) as (link, _):
            plan = await link.plan(["oil_temperature", "fluid_level"])
            assert plan.blocks == (Block(Table.INPUT, 16, 1), Block(Table.INPUT, 18, 1))
            del device.inputs[18]
            with pytest.raises(UnitRefused, match=r"no input register 18 \(fluid level\): does its list count from 1"):
                await link.plan(["oil_temperature", "fluid_level"])

    run_virtual(main())


def test_plan_around_reads_neighbours_and_leaves_out_what_the_unit_has_not_got() -> None:
    """A map that is off by one must still be seen: each address is tried by itself, and the rest is joined again."""

    async def main() -> None:
        device = Device()
        del device.inputs[19]
        async with open_link(device) as (link, _):
            plan = await link.plan_around(["fluid_level", "starts_total", "open_limit"])
            assert plan.blocks == (
                Block(Table.DISCRETE, 0, 2),
                Block(Table.INPUT, 17, 2),
                Block(Table.INPUT, 20, 1),
            )
            device.inputs.clear()
            with pytest.raises(PlanError, match="at none of the addresses"):
                await link.plan_around(["fluid_level"])

    run_virtual(main())


def test_write_goes_through_the_guard_once() -> None:
    """Without leave nothing reaches the wire; with it the command is there exactly once."""

    async def main() -> None:
        slot = LeaveSlot()
        async with open_link(leave=slot) as (link, wire):
            before = len(wire.requests)
            with pytest.raises(WriteRefused, match="no test has been given leave"):
                await link.write("command_close", 1, LIVE)
            assert link.write_refusal("command_close", 1, LIVE) is not None
            assert len(wire.requests) == before
            slot.grant(Leave("K1", {"command_close": (1,)}, 10**15, 7, "T. Placeholder"))
            assert (await link.write("command_close", 1, LIVE)).outcome is Outcome.ANSWERED
            assert wire.device.coils[1] == 1
            assert len(wire.requests) == before + 1
            assert await link.confirm("command_close", 1)
            assert not await link.confirm("command_close", 0)

    run_virtual(main())


@both
def test_r11_make_safe_arrives_within_what_was_promised(*, rtu: bool) -> None:
    """With the unit deaf to a read in flight, stop is at the unit within `facts.make_safe_s` and needs no leave."""

    async def main() -> None:
        async with open_link(rtu=rtu) as (link, wire):
            sampler = link.sampler(await link.plan(["travel"]))
            wire.device.hang_reads = True
            reading = asyncio.ensure_future(sampler.next())
            await asyncio.sleep(0.02)
            before_s = asyncio.get_running_loop().time()
            written = await link.make_safe("command_stop", 1)
            assert written.outcome is Outcome.ANSWERED
            sent_s, frame = wire.requests[-1]
            assert sent_s + len(frame) * CHARACTER_S * rtu - before_s <= link.facts.make_safe_s
            assert wire.device.coils[2] == 1
            assert isinstance(await reading, Silence)
            with pytest.raises(ValueError, match="makes nothing safe"):
                await link.make_safe("run_limit", 5, LIVE)
            with pytest.raises(WriteRefused):
                await link.make_safe("command_open", 1, LIVE)

    run_virtual(main())


def test_connect_that_fails_leaves_nothing_open() -> None:
    """Wrong unit, deaf unit, no unit: each is a sentence, and the connection is closed again."""

    async def main() -> None:
        wrong = Device()
        wrong.inputs[0] = 7
        for device, fault in ((wrong, WrongUnit), (Device(hang_reads=True), NoAnswer)):
            async with tcp_unit(device) as wire:
                with pytest.raises(fault):
                    await UnitLink.connect(address_of(wire, rtu=False), SHEET, virtual_clock())
        with pytest.raises(NotConnected):
            await UnitLink.connect(TcpAddress("127.0.0.1", 1), SHEET, virtual_clock())

    run_virtual(main())


def test_r11_promise_with_a_plan_is_closer_than_the_one_for_anything() -> None:
    """With two short blocks polled at 19200 baud the stop is promised sooner than behind the longest read."""

    async def main() -> None:
        async with open_link(rtu=True) as (link, _):
            plan = await link.plan(["travel", "open_limit"])
            assert link.make_safe_within_s(plan) < 0.12
            assert link.make_safe_within_s(plan) < link.facts.make_safe_s

    run_virtual(main())


@pytest.mark.parametrize(("speed", "patience_s"), [(1.0, 0.04), (20.0, 0.25)])
def test_a_practice_unit_ahead_of_time_is_given_time_to_answer(tmp_path: Path, speed: float, patience_s: float) -> None:
    """It shares the laptop: a late reading is better than a silence of many of its seconds. A real unit's stays."""

    async def main() -> None:
        async with rig(tmp_path, speed=speed) as site:
            assert site.link.sample_timeout_s == pytest.approx(patience_s, abs=0.01)

    run_virtual(main())
