"""Everything together: a unit, its wire, its site desk and its life, until told to stop or left alone."""

import asyncio
from collections.abc import Awaitable, Callable
from contextlib import AsyncExitStack
from urllib.parse import urlsplit

import msgspec
from msgspec.structs import replace

from commission.clock import Clock
from commission.practice.condition import HEALTHY, Condition
from commission.practice.control_port import ControlPort
from commission.practice.day import Day
from commission.practice.device import Device
from commission.practice.fate import FaultHook, no_fault
from commission.practice.identification import Identification, fresh_identification
from commission.practice.lifetime import Lifetime
from commission.practice.mechanism import NotServed
from commission.practice.server import TcpListener, UnitServer, foreign_frames, rtu_wire
from commission.practice.setup import Setup
from commission.practice.site import SiteDesk
from commission.practice.trouble import CLEAN, trouble_hook
from commission.practice.unit import PracticeUnit
from commission.sheet import End, Sheet

SLOWEST, FASTEST = 1.0, 60.0
_MIDWAY_PCT = 50.0
IDLE_S = 600.0
_TICK_S = 0.25
"""How often the unit is caught up when nobody asks; a request always catches it up to its own instant first."""


class ServedAt(msgspec.Struct, frozen=True, kw_only=True):
    """
    Where the unit is served.

    Args:
        url: What a client connects to; empty for a unit that no link reads.

        control: host:port of the people on site.

        speed: Unit time a second of wire time, as clamped.

        meters: Serial device of each instrument on the bench, by its label; none unless asked for.
    """

    url: str
    control: str
    speed: float
    meters: dict[str, str] = {}


def clamp_speed(speed: float) -> float:
    """The nearest speed that is served, 1 to 60."""
    return min(max(speed, SLOWEST), FASTEST)


async def serve(
    sheet: Sheet,
    url: str,
    *,
    speed: float = 1.0,
    seed: int = 0,
    start: str = "closed",
    clock: Clock | None = None,
    on_ready: Callable[[ServedAt], None],
    stop: asyncio.Event,
    condition: Condition = HEALTHY,
    setup: Setup | None = None,
    meters: bool = False,
    fault: FaultHook = no_fault,
    idle_s: float = IDLE_S,
) -> None:
    """
    Serve a practice unit until `stop` is set, or nobody has asked it anything for ten minutes of wire time.

    Args:
        sheet: What the unit is.

        url: `tcp://host:port`, port 0 for a free one, or `rtu://` for a new pseudo-terminal.

        speed: Unit time a second of wire time; clamped to 1 … 60, and stated in the identification.

        seed: Of the unit's noise.

        start: `closed` or `open`.

        clock: Wire time and unit time; the machine's own where None. It is run at `speed`.

        on_ready: Told where the unit is, once it answers.

        stop: Ends it.

        condition: Planted findings, where there is no set-up.

        setup: Condition, line, start and events together; what it says goes before `condition`, `start` and `fault`.

        meters: Whether the instruments on the bench answer, each on a pseudo-terminal.

        fault: What becomes of each answer.

        idle_s: How long nobody may ask before it ends, in wire time.

    Raises:
        NotServed: the sheet, the URL or the start position cannot be served.

        OSError: the address cannot be used.
    """
    if start not in ("closed", "open"):
        raise NotServed(f"start: {start!r}, expected closed or open")
    clock = clock or Clock()
    clock.run_at(clamp_speed(speed))
    if setup is None:
        setup = Setup(condition=condition)
    elif setup.line != CLEAN:
        fault = trouble_hook(setup.line, seed)
    unit = PracticeUnit(sheet, condition=setup.condition, start=End(setup.start or start), seed=seed)
    day = Day(unit, setup.events)
    life = Lifetime(unit, clock)
    identification = fresh_identification(sheet.identity.tag, clock.speed)
    neighbour = _neighbour(unit, clock, seed, identification) if setup.line.duplicate else None
    server = UnitServer(Device(unit), life, identification, fault, neighbour)
    async with AsyncExitStack() as stack:
        where, close = await _open_wire(sheet, url, server, setup.line.foreign_s)
        stack.push_async_callback(close)
        desk = SiteDesk(unit, life.catch_up if sheet.linked else life.looked_at, clock.skip)
        control = ControlPort(desk)
        at = await control.open()
        stack.push_async_callback(control.close)
        bench = _open_bench(unit, seed, life.catch_up, stack) if meters else {}
        on_ready(ServedAt(url=where, control=at, speed=clock.speed, meters=bench))
        while not stop.is_set() and life.silent_s < idle_s:
            life.catch_up()
            day.live()
            desk.live()
            await clock.sleep_wire(_TICK_S)


def _neighbour(unit: PracticeUnit, clock: Clock, seed: int, identification: Identification) -> UnitServer:
    """The next unit of the same kind, at its other end, which somebody gave the same address."""
    sheet, at_open = unit.sheet, unit.truth().travel_pct > _MIDWAY_PCT
    other = replace(sheet, identity=replace(sheet.identity, code=sheet.identity.code + 1))
    twin = PracticeUnit(other, start=End.CLOSED if at_open else End.OPEN, seed=seed + 1)
    return UnitServer(Device(twin), Lifetime(twin, clock), identification)


async def _nothing_to_close() -> None:
    """A unit that no link reads has no wire."""


def _open_bench(unit: PracticeUnit, seed: int, catch_up: Callable[[], None], stack: AsyncExitStack) -> dict[str, str]:
    from commission.practice.bench import Terminal, instruments_of  # noqa: PLC0415  # as for the serial line

    devices = {}
    for label, instrument in instruments_of(unit, seed).items():
        terminal = Terminal(instrument, catch_up)
        terminal.open()
        stack.callback(terminal.close)
        devices[label] = terminal.path
    return devices


async def _open_wire(
    sheet: Sheet, url: str, server: UnitServer, foreign_s: float
) -> tuple[str, Callable[[], Awaitable[None]]]:
    parts, link = urlsplit(url), sheet.link
    if not sheet.linked:
        return "", _nothing_to_close
    if parts.scheme == "rtu":
        from commission.practice.serial_line import SerialLine  # noqa: PLC0415  # pseudo-terminals are not everywhere

        foreign = foreign_frames(link.unit_id)
        line = SerialLine(rtu_wire(server), link, server.life.clock, foreign, foreign_s)
        line.open()
        return f"rtu://{line.path}?baud={link.baud}&parity=N&stop=1&unit={link.unit_id}", line.closed
    if parts.scheme != "tcp":
        raise NotServed(f"{url!r}: expected tcp://host:port or rtu://")
    listener = TcpListener(server)
    host = parts.hostname or "127.0.0.1"
    port = await listener.open(host, parts.port or 0)
    return f"tcp://{host}:{port}?unit={link.unit_id}", listener.close
