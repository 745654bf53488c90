"""Tests of what units do where their lists say nothing (trade guide 10.4)."""

import asyncio

import pytest

from commission.practice.device import Device, Fault, ModbusFault, TableName
from commission.practice.manners import STRICT, Manners, manners_of
from commission.practice.serve import ServedAt, serve
from commission.sheet import Sheet
from tests.practice.made import BDV, FCV, SHEET, unit_of
from tests.virtual_time import run_virtual, virtual_clock


def test_each_unit_has_its_own() -> None:
    """FCV-2204 is lenient, BDV-3307 is slow, XV-1101 is strict and quick."""
    assert manners_of(FCV).lenient
    assert manners_of(BDV).slow_s > 0.1
    assert manners_of(SHEET) == STRICT


def test_a_list_from_1_reads_0_one_too_far() -> None:
    """Wire address 0 is the identity; who takes the list's 1 for the wire's reads 0 there, not an error."""
    device = Device(unit_of(FCV))
    assert device.read(TableName.INPUT, 0, 1) == [2204]
    assert device.read(TableName.INPUT, 1, 1) == [0]


def test_a_gap_is_forbidden_all_the_same() -> None:
    """The list's input 29 and holdings 2 to 10 are refused, alone and in the middle of a run."""
    device = Device(unit_of(FCV))
    for table, address, count in ((TableName.INPUT, 28, 1), (TableName.INPUT, 26, 5), (TableName.HOLDING, 0, 12)):
        with pytest.raises(ModbusFault) as caught:
            device.read(table, address, count)
        assert caught.value.code is Fault.ILLEGAL_ADDRESS
    with pytest.raises(ModbusFault):
        device.read(TableName.INPUT, 200, 1)


def test_a_strict_unit_refuses_what_it_does_not_list() -> None:
    """Between two points of XV-1101 there is nothing to read."""
    with pytest.raises(ModbusFault):
        Device(unit_of(SHEET)).read(TableName.INPUT, 1, 1)
    assert Device(unit_of(SHEET), Manners(lenient=True)).read(TableName.INPUT, 1, 1) == [0]


def test_a_slow_unit_takes_its_time() -> None:
    """BDV-3307 answers after 0.13 s of unit time, XV-1101 after 0.01; nothing is asked of it meanwhile."""

    async def taken_s(sheet: Sheet) -> float:
        found: asyncio.Future[ServedAt] = asyncio.get_running_loop().create_future()
        stop = asyncio.Event()
        task = asyncio.ensure_future(
            serve(sheet, "tcp://127.0.0.1:0", clock=virtual_clock(), on_ready=found.set_result, stop=stop)
        )
        port = int((await found).url.split(":")[2].split("?")[0])
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        begun_s = asyncio.get_running_loop().time()
        writer.write(b"\x00\x01\x00\x00\x00\x05" + bytes((sheet.link.unit_id,)) + b"\x2b\x0e\x04\x01")
        await reader.readexactly(9)
        taken = asyncio.get_running_loop().time() - begun_s
        writer.close()
        stop.set()
        await task
        return taken

    async def main() -> None:
        assert await taken_s(BDV) == pytest.approx(0.13, abs=0.02)
        assert await taken_s(SHEET) == pytest.approx(0.01, abs=0.01)

    run_virtual(main())
