"""Our client against servers that others wrote, over a real socket and a real pseudo-terminal, in real time."""

import asyncio
import os
import pty
import threading
import tty

import pytest
from pyModbusTCP.server import DataBank, ModbusServer

from commission.clock import Clock
from commission.leave import LeaveSlot
from commission.link.faults import NotConnected
from commission.link.health import Health
from commission.link.lanes import Lane
from commission.link.line import Line
from commission.link.unit import UnitLink
from commission.link.url import SerialAddress, TcpAddress
from commission.link.write_guard import EnergyView
from commission.sample import Block, Outcome, Table
from tests.link.lines import demo_sheet
from tests.link.servers import IDENTITY, UNIT_ID, crc16

SHEET = demo_sheet()


def test_visit_over_tcp_to_an_independent_server() -> None:
    """A server by pyModbusTCP is met, polled, written and made safe: connect to close through the public face."""
    bank = DataBank(coils_size=16, d_inputs_size=16, h_regs_size=64, i_regs_size=64)
    bank.set_input_registers(0, [IDENTITY])
    bank.set_input_registers(10, [0x0000, 0x423E])
    bank.set_discrete_inputs(0, [True, False])
    server = ModbusServer("127.0.0.1", 0, no_block=True, data_bank=bank)
    server.start()
    port = server._service.socket.getsockname()[1]

    async def main() -> None:
        link = await UnitLink.connect(TcpAddress("127.0.0.1", port, UNIT_ID), SHEET, Clock(), LeaveSlot())
        try:
            assert link.facts.practice is None
            readings = await link.read(["travel", "open_limit", "closed_limit"])
            assert readings.value("travel") == pytest.approx(0.475)
            assert (readings.bit("open_limit"), readings.bit("closed_limit")) == (True, False)
            sampler = link.sampler(await link.plan(["travel", "open_limit"]))
            assert [(await sampler.next()).number for _ in range(20)] == list(range(1, 21))
            written = await link.write("run_limit", 45, EnergyView("control", 1))
            assert (written.outcome, bank.get_holding_registers(10, 1)) == (Outcome.ANSWERED, [45])
            assert (await link.make_safe("command_stop", 1)).outcome is Outcome.ANSWERED
            assert bank.get_coils(2, 1) == [True]
        finally:
            await link.close()

    try:
        asyncio.run(main())
    finally:
        server.stop()


def _answer_one(master: int) -> None:
    """A unit of eight lines: one identity register and coil 2, on the far end of a pseudo-terminal."""
    while True:
        request = b""
        while len(request) < 8:
            request += os.read(master, 8 - len(request))
        if request[0] == 0:
            return
        body = request[:6] if request[1] == 5 else bytes((UNIT_ID, 4, 2)) + IDENTITY.to_bytes(2, "big")
        os.write(master, body + crc16(body))


def test_read_and_make_safe_over_a_pseudo_terminal() -> None:
    """Through the operating system's own terminal driver a read and a make-safe write come back right."""
    master, slave = pty.openpty()
    tty.setraw(slave)
    unit = threading.Thread(target=_answer_one, args=(master,))
    unit.start()

    async def main() -> None:
        clock = Clock()
        address = SerialAddress(os.ttyname(slave), 115200, "N", 1, UNIT_ID)  # a pseudo-terminal refuses parity
        line = Line(address, SHEET.link, clock, Health(clock.unit_ns()))
        await line.connect()
        for _ in range(10):
            read = await line.read(Block(Table.INPUT, 0, 1))
            assert read.words == (IDENTITY,)
        assert (await line.write(Table.COIL, 2, (1,), Lane.MAKE_SAFE)).outcome is Outcome.ANSWERED
        await line.close()

    try:
        asyncio.run(main())
    finally:
        os.write(slave, bytes(8))
        unit.join()
        os.close(master)
        os.close(slave)


def test_parity_on_a_pseudo_terminal_is_a_sentence() -> None:
    """Where the driver refuses the setting the port is not open, and the message says so."""
    master, slave = pty.openpty()

    async def main() -> str:
        said = ""
        for _ in range(2):  # the first open may pass, the next is refused
            clock = Clock()
            line = Line(SerialAddress(os.ttyname(slave), 19200, "E", 1, 1), SHEET.link, clock, Health(0))
            try:
                await line.connect()
            except NotConnected as fault:
                said = str(fault)
            await line.close()
        return said

    try:
        said = asyncio.run(main())
        assert "cannot be opened" in said
        assert "a virtual port takes parity=N only" in said
    finally:
        os.close(master)
        os.close(slave)
