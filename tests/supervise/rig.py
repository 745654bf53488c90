"""
The real thing in virtual time: a practice unit behind its own server, a link, a record in a file, and the supervisor.

    async with rig(tmp_path, start="open") as site:
        ended = await site.run(full_stroke(site.sheet, End.CLOSED, "K1 closed 1"))
        site.truth().travel_pct

Every frame that reaches the unit is noted with its time by a server that can also be made deaf; what a command did is
asked of the unit itself, never of the program.
"""

import asyncio
import contextlib
from collections.abc import AsyncIterator, Callable
from pathlib import Path
from typing import Any, TypeVar

import msgspec
from pymodbus.pdu import ModbusPDU

from commission.clock import Clock
from commission.content import checklists_folder
from commission.job.bodies import Body, body_of, kind_of
from commission.leave import Leave, LeaveSlot
from commission.link.unit import UnitLink
from commission.link.url import Address, SerialAddress, TcpAddress
from commission.link.write_guard import EnergyView
from commission.practice.condition import HEALTHY, Condition
from commission.practice.device import Device
from commission.practice.identification import fresh_identification
from commission.practice.lifetime import Lifetime
from commission.practice.serial_line import SerialLine
from commission.practice.server import TcpListener, UnitServer, rtu_wire
from commission.practice.site import SiteDesk
from commission.practice.unit import PracticeUnit, Truth
from commission.procedures.requests import SET_POINT, Answer, Ask, Begin, Procedure
from commission.record.reader import Reader
from commission.record.writer import Pending, Recorder
from commission.sheet import End, Sheet, load_sheet
from commission.supervise.bits import BitWatch
from commission.supervise.linked_unit import LinkedUnit
from commission.supervise.order import Ended, MotionOrder
from commission.supervise.supervisor import Supervisor
from tests.supervise.serial_over_socket import serial_over_socket
from tests.virtual_time import VirtualLoop, virtual_clock

R = TypeVar("R")

TESS = "T. Placeholder"
WRITES = (5, 6, 15, 16)


def demo_sheet() -> Sheet:
    """The sheet of XV-1101."""
    return load_sheet(checklists_folder() / "units" / "xv-1101.toml")[0]


class Frame(msgspec.Struct, frozen=True):
    """One request that reached the unit: loop time, function code, address; for a write of one bit or word, what."""

    at_s: float
    function: int
    address: int
    value: int | None = None

    @property
    def is_write(self) -> bool:
        """Whether it would change something."""
        return self.function in WRITES


class NotingServer(UnitServer):
    """Notes every request as it arrives; while `deaf` it neither acts nor answers; muted writes act unanswered."""

    frames: list[Frame]
    deaf: bool
    mute_writes: int
    on_frame: Callable[[Frame], None]

    async def answer(self, request: ModbusPDU, build: Callable[[ModbusPDU], bytes]) -> bytes | None:
        """Note, and go on unless deaf."""
        now_s = asyncio.get_running_loop().time()
        frame = Frame(now_s, request.function_code, getattr(request, "address", -1), _written(request))
        self.frames.append(frame)
        self.on_frame(frame)
        if self.deaf:
            return b""
        answer = await super().answer(request, build)
        if frame.is_write and self.mute_writes:
            self.mute_writes -= 1
            return b""
        return answer


def _written(request: ModbusPDU) -> int | None:
    """What a request writes, where it writes one bit or one word."""
    match request.function_code:
        case 5:
            return int(request.bits[0])
        case 6:
            return int(request.registers[0])
    return None


class FileLedger:
    """The record, in a file, without the folded job."""

    def __init__(self, recorder: Recorder) -> None:
        self.recorder = recorder
        self.on_record: Callable[[Body], None] = lambda _body: None
        self.last: Pending | None = None

    def record(self, body: Body, by: str = "program") -> Pending:
        """Append it."""
        self.on_record(body)
        self.last = self.recorder.append(kind_of(type(body)), msgspec.to_builtins(body), by=by)
        return self.last

    def store_chunk(self, data: bytes) -> str:
        """Keep a chunk."""
        return self.recorder.append_chunk(data)


class Folk:
    """Answers after `after_s` of wire time, or never."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self.after_s: float | None = 0.5
        self.asked: list[Ask] = []

    async def ask(self, question: Ask) -> Answer:
        """The answer."""
        self.asked.append(question)
        if self.after_s is None:
            await asyncio.Event().wait()
        await self._clock.sleep_wire(self.after_s or 0.0)
        return Answer(question.id, "seen", TESS, self._clock.unit_ns())


class Site:
    """One unit, its link, its record and its supervisor."""

    def __init__(
        self,
        server: NotingServer,
        desk: SiteDesk,
        link: UnitLink,
        clock: Clock,
        recorder: Recorder,
        slot: LeaveSlot,
    ) -> None:
        self.server = server
        self.desk = desk
        self.link = link
        self.clock = clock
        self.recorder = recorder
        self.sheet = link.sheet
        self.hang_up: Callable[[], None] = lambda: None
        self.slot = slot
        self.view = EnergyView("live", 1, frozenset({"command_open", "command_close"}))
        self.unit = LinkedUnit(link, clock, lambda: self.view)
        self.ledger = FileLedger(recorder)
        self.folk = Folk(clock)
        self.supervisor = Supervisor(
            self.unit, self.ledger, self.folk, self.slot, self.leave_for, BitWatch(self.ledger)
        )

    def leave_for(self, begin: Begin, order: MotionOrder) -> Leave:
        """Leave for all that the procedure names, and for its safe end."""
        commands = (*begin.commands, *(() if begin.safe_command is None else (begin.safe_command,)))
        values: dict[str, tuple[int, ...]] = {command.role: (command.value,) for command in commands}
        until_ns = self.clock.unit_ns() + round((begin.longest_s + 60) * 1e9)
        points = begin.set_points
        ranges = {} if points is None else {SET_POINT: (points.low, points.high)}
        return Leave(begin.test, values, until_ns, self.view.generation, order.by, ranges=ranges)

    async def run(self, procedure: Procedure[R], run: str = "r1", name: str = "full_stroke") -> Ended[R]:
        """Run a procedure to its end."""
        order = MotionOrder(run=run, step="K1", procedure=name, arguments={}, by=TESS)
        return await self.supervisor.run(procedure, order)

    def drop_line(self) -> None:
        """The connection is cut at the unit's end; it can be opened again."""
        self.hang_up()

    def truth(self) -> Truth:
        """The true state of the unit now."""
        return msgspec.convert(self.desk.read("truth"), Truth)

    async def until(self, reached: Callable[[Truth], bool], limit_s: float = 300.0) -> None:
        """Wait in wire time until the unit is so."""
        loop = asyncio.get_running_loop()
        begun_s = loop.time()
        while not reached(self.truth()):
            assert loop.time() - begun_s < limit_s, self.truth()
            await asyncio.sleep(0.02)

    def writes(self, role: str = "") -> list[Frame]:
        """The writes that reached the unit, all or those to one command point."""
        point = self.sheet.point(role)
        address = None if point is None else self.sheet.wire_address(point)
        return [frame for frame in self.server.frames if frame.is_write and address in (None, frame.address)]

    def bodies(self, kind: type[Body] | None = None) -> list[Any]:
        """What is in the record's file by now, all kinds or one."""
        if self.ledger.last is not None:
            self.ledger.last.committed.result(timeout=5)
        with Reader(self.recorder.path) as reader:
            found = [body_of(event.kind, event.body) for event in reader.events()]
        return [body for body in found if kind is None or isinstance(body, kind)]


class Served(msgspec.Struct):
    """A practice unit on a wire: its server, the people beside it, where it is reached, and how its line is cut."""

    server: NotingServer
    desk: SiteDesk
    address: Address
    hang_up: Callable[[], None]


@contextlib.asynccontextmanager
async def served(
    sheet: Sheet,
    *,
    start: str = "closed",
    rtu: bool = False,
    speed: float = 1.0,
    seed: int = 0,
    condition: Condition = HEALTHY,
    real_time: bool = False,
) -> AsyncIterator[Served]:
    """A practice unit, served in this loop; in virtual time, its serial line a socket, unless the time is real."""
    clock = Clock() if real_time else virtual_clock()
    clock.run_at(speed)
    unit = PracticeUnit(sheet, condition=condition, start=End(start), seed=seed)
    life = Lifetime(unit, clock)
    server = NotingServer(Device(unit), life, fresh_identification(sheet.identity.tag, speed))
    server.frames, server.deaf, server.mute_writes, server.on_frame = [], False, 0, lambda _frame: None
    desk = SiteDesk(unit, life.catch_up, clock.skip)
    link = sheet.link
    async with contextlib.AsyncExitStack() as stack:
        if rtu and real_time:
            line = SerialLine(rtu_wire(server), link, clock)
            line.open()
            stack.push_async_callback(line.closed)
            address: Address = SerialAddress(line.path, link.baud, "N", 1, link.unit_id)
        elif rtu:
            device = await stack.enter_async_context(serial_over_socket(server, link))
            address = SerialAddress(device, link.baud, "E", 1, link.unit_id)
        else:
            listener = TcpListener(server)
            address = TcpAddress("127.0.0.1", await listener.open("127.0.0.1", 0), link.unit_id)
            stack.push_async_callback(listener.close)

        def hang_up() -> None:
            for wire in [] if rtu else list(listener._wires):
                wire.hang_up()

        yield Served(server, desk, address, hang_up)


def hold_time_while(busy: Callable[[], bool]) -> None:
    """Let virtual time stand while a record is being written."""
    loop = asyncio.get_running_loop()
    if isinstance(loop, VirtualLoop):
        loop.real_work.append(busy)


@contextlib.asynccontextmanager
async def rig(
    folder: Path,
    *,
    start: str = "closed",
    rtu: bool = False,
    speed: float = 1.0,
    seed: int = 0,
    sheet: Sheet | None = None,
    laptop: Sheet | None = None,
    condition: Condition = HEALTHY,
) -> AsyncIterator[Site]:
    """Everything, connected; taken down again at the end. `laptop` is the sheet of the laptop, where it differs."""
    sheet = sheet or demo_sheet()
    async with contextlib.AsyncExitStack() as stack:
        unit = await stack.enter_async_context(
            served(sheet, start=start, rtu=rtu, speed=speed, seed=seed, condition=condition)
        )
        clock, slot = virtual_clock(), LeaveSlot()
        link = await UnitLink.connect(unit.address, laptop or sheet, clock, slot)
        stack.push_async_callback(link.close)
        recorder = stack.enter_context(Recorder(folder / "XV-1101.job", session="s1", clock=clock, new=True))
        hold_time_while(lambda: recorder.busy)
        site = Site(unit.server, unit.desk, link, clock, recorder, slot)
        site.hang_up = unit.hang_up
        yield site
