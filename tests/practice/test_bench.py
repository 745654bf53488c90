"""Tests of the instruments beside a unit: they read the truth, within their certificates."""

import asyncio
import os

import pytest

from commission.practice.bench import Terminal, instruments_of
from commission.practice.orders import Order
from tests.practice.made import FCV, SHEET, unit_of
from tests.virtual_time import run_virtual


@pytest.mark.parametrize("seed", range(5))
def test_each_reads_within_its_certificate(seed: int) -> None:
    """Clamp ±0.02 mA, gauge ±0.5 bar, calibrator ±0.01 mA, half a last digit included; the same for the same seed."""
    unit = unit_of(FCV, "open")
    bench = instruments_of(unit, seed)
    assert float(bench["M-03"].answer("MEAS:CURR?")) == pytest.approx(0.020, abs=0.0000201)
    assert float(bench["C-07"].answer("SOUR:CURR?")) == pytest.approx(0.020, abs=0.0000101)
    open_unit = unit_of(SHEET, "open")
    gauge = instruments_of(open_unit, seed)["G-11"]
    assert float(gauge.answer("MEAS:PRES?")) == pytest.approx(125.0, abs=0.5)
    assert gauge.answer("MEAS:PRES?") == instruments_of(open_unit, seed)["G-11"].answer("MEAS:PRES?")


def test_they_follow_the_unit() -> None:
    """The gauge falls with the cylinder; without the loop's supply the clamp reads its own zero."""
    unit = unit_of(SHEET, "open")
    bench = instruments_of(unit, 1)
    unit.order(Order.CLOSE, remote=True)
    unit.advance(12.0)
    assert abs(float(bench["G-11"].answer("READ?"))) < 0.5
    unit.side.loop_24v = False
    assert abs(float(bench["M-03"].answer("READ?"))) < 2e-5


def test_nothing_sets_the_calibrator() -> None:
    """It is asked what it puts on the loop; told, it does not answer and nothing changes."""
    unit = unit_of(FCV, "closed")
    calibrator = instruments_of(unit, 1)["C-07"]
    assert calibrator.answer("SOUR:CURR 0.020") == ""
    assert unit.side.command_signal == 4.0


def test_a_terminal_answers_lines() -> None:
    """Half a line waits for its end; two lines get two answers; who does not ask gets none."""
    asked: list[int] = []

    async def main() -> None:
        terminal = Terminal(instruments_of(unit_of(SHEET, "open"), 1)["G-11"], lambda: asked.append(1))
        terminal.open()
        client = os.open(terminal.path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
        os.write(client, b"*ID")
        await asyncio.sleep(0.05)
        with pytest.raises(BlockingIOError):
            os.read(client, 100)
        os.write(client, b"N?\r\nNONSENSE\nSYST:ERR?\n")
        await asyncio.sleep(0.05)
        assert os.read(client, 200).split(b"\n")[:2] == [b"PRACTICE,BENCH,G-11,1.0", b'-113,"Undefined header"']
        os.close(client)
        terminal.close()

    run_virtual(main())
    assert len(asked) == 3
