"""Serial ports: listening before asking, and searching without disturbing (safety rule R16)."""

import asyncio
import os
import pty
import tty

import pytest

from commission.clock import Clock
from commission.link.faults import LineInUse, NotConnected, SearchRefused
from commission.link.ports import Foreign, Port, demand_quiet, find, listen, serial_ports, settings_to_try
from commission.link.url import SerialAddress, TcpAddress
from tests.link.lines import address_of, demo_sheet
from tests.link.servers import Device, serial_unit
from tests.virtual_time import run_virtual, virtual_clock

SHEET = demo_sheet()
QUIET = Foreign(5.0, b"")


def test_r16_foreign_traffic_is_heard_on_a_pseudo_terminal() -> None:
    """Bytes that somebody else sends within the five seconds are heard, and nothing is sent meanwhile."""
    master, slave = pty.openpty()
    try:
        tty.setraw(slave)

        async def main() -> Foreign:
            asyncio.get_running_loop().call_later(1.0, os.write, master, b"\x01\x03\x00\x00")
            return await listen(SerialAddress(os.ttyname(slave), 19200, "N", 1), virtual_clock())

        foreign = run_virtual(main())
        assert foreign == Foreign(5.0, b"\x01\x03\x00\x00")
        assert foreign.heard
        os.set_blocking(master, False)
        with pytest.raises(BlockingIOError):
            os.read(master, 1)
    finally:
        os.close(master)
        os.close(slave)


def test_r16_quiet_line_is_listened_to_for_five_seconds() -> None:
    """On a quiet line the whole time is waited for."""

    async def main() -> None:
        async with serial_unit() as wire:
            clock = virtual_clock()
            began_ns = clock.wire_ns()
            address = address_of(wire, rtu=True)
            assert isinstance(address, SerialAddress)
            assert not (await listen(address, clock)).heard
            assert 5e9 <= clock.wire_ns() - began_ns < 5.1e9

    run_virtual(main())


def test_r16_a_line_in_use_is_named_with_what_was_heard() -> None:
    """How much, in how long, how it begins, and that nothing was sent; a quiet line and a network pass."""
    master, slave = pty.openpty()
    address = SerialAddress(os.ttyname(slave), 19200, "N", 1)

    async def main() -> None:
        clock = virtual_clock()
        await demand_quiet(TcpAddress("192.0.2.7"), clock)
        assert clock.wire_ns() == virtual_clock().wire_ns()
        await demand_quiet(address, clock)
        asyncio.get_running_loop().call_later(1.0, os.write, master, bytes(range(20)))
        with pytest.raises(LineInUse, match=r"20 bytes in 5 s, beginning 00 01 .* 0a 0b …\. Nothing was sent"):
            await demand_quiet(address, clock)

    try:
        tty.setraw(slave)
        run_virtual(main())
    finally:
        os.close(master)
        os.close(slave)


def test_r16_searching_is_refused_where_somebody_talks() -> None:
    """Another master on the line: not one byte is sent."""

    async def main() -> None:
        async with serial_unit() as wire:
            address = SerialAddress(f"socket://127.0.0.1:{wire.port}")
            with pytest.raises(SearchRefused, match="4 bytes of somebody else were heard"):
                async for _ in find(address, SHEET, virtual_clock(), Foreign(5.0, b"abcd")):
                    pass
            assert wire.requests == []

    run_virtual(main())


def test_r16_search_sends_one_read_a_setting() -> None:
    """Until a unit answers each setting is tried once, with a read and nothing else."""

    async def main() -> None:
        async with serial_unit(Device(hang_reads=True)) as wire:
            address = SerialAddress(f"socket://127.0.0.1:{wire.port}")
            tried = []
            async for one in find(address, SHEET, virtual_clock(), QUIET):
                tried.append(one)
                if len(tried) == 3:
                    wire.device.hang_reads = False
            assert [one.answered for one in tried] == [False, False, False, True]
            assert [frame[1] for _, frame in wire.requests] == [4, 4, 4, 4]
            assert tried[-1].said == "a unit answers"

    run_virtual(main())


def test_unit_that_refuses_was_found_too() -> None:
    """An exception answer at the right setting is an answer."""

    async def main() -> None:
        device = Device()
        del device.inputs[0]
        async with serial_unit(device) as wire:
            tried = [
                one
                async for one in find(SerialAddress(f"socket://127.0.0.1:{wire.port}"), SHEET, virtual_clock(), QUIET)
            ]
            assert [one.answered for one in tried] == [True]
            assert "has no such address" in tried[0].said

    run_virtual(main())


def test_settings_start_with_the_sheets_and_never_repeat() -> None:
    """The sheet's own setting is first; what the address gives is not varied; none is tried twice."""
    settings = settings_to_try(SerialAddress("COM3"), SHEET)
    assert settings[0] == SerialAddress("COM3", 19200, "E", 1, 11)
    assert len(settings) == len(set(settings)) == 32
    fixed = settings_to_try(SerialAddress("COM3", 9600, None, None, 5), SHEET)
    assert {(setting.baud, setting.unit_id) for setting in fixed} == {(9600, 5)}
    assert len(fixed) == 4


def test_ports_are_listed_by_name() -> None:
    """Whatever ports this machine has come as sorted records."""
    ports = serial_ports()
    assert all(isinstance(port, Port) for port in ports)
    assert [port.device for port in ports] == sorted(port.device for port in ports)


def test_port_that_cannot_be_opened_is_a_sentence() -> None:
    """A missing port names itself."""
    with pytest.raises(NotConnected, match="/dev/nowhere cannot be opened"):
        asyncio.run(listen(SerialAddress("/dev/nowhere"), Clock()))
