"""The unit on TCP, asked by a client of sockets and struct alone, in virtual time."""

import asyncio
import hashlib
import random
import struct
from collections.abc import Awaitable, Callable

import pytest

from commission.practice.condition import HEALTHY, Condition
from commission.practice.control_port import reply_to
from commission.practice.device import Device
from commission.practice.fate import Fate, FaultHook, no_fault
from commission.practice.identification import fresh_identification
from commission.practice.lifetime import Lifetime
from commission.practice.server import TURNAROUND_S, TcpListener, UnitServer
from commission.practice.site import SiteDesk
from commission.practice.unit import PracticeUnit
from commission.sheet import End, Sheet
from tests.practice.wire_client import RawClient
from tests.virtual_time import run_virtual, virtual_clock

Visit = Callable[[RawClient, SiteDesk], Awaitable[None]]


def visit(
    sheet: Sheet,
    work: Visit,
    *,
    start: End = End.CLOSED,
    speed: float = 1.0,
    fault: FaultHook = no_fault,
    condition: Condition = HEALTHY,
) -> None:
    """Serve a unit, connect, do the work, hang up."""

    async def main() -> None:
        clock = virtual_clock()
        clock.run_at(speed)
        life = Lifetime(PracticeUnit(sheet, start=start, seed=3, condition=condition), clock)
        server = UnitServer(Device(life.unit), life, fresh_identification("XV-1101", clock.speed), fault)
        listener = TcpListener(server)
        port = await listener.open("127.0.0.1", 0)
        client = await RawClient.connect(f"tcp://127.0.0.1:{port}?unit=11")
        await work(client, SiteDesk(life.unit, life.catch_up))
        await client.close()
        await listener.close()

    run_virtual(main())


async def polled_open(client: RawClient, every_s: float) -> None:
    """Ask for the open limit until it is made."""
    for _ in range(2000):
        if (await client.ask(struct.pack(">BHH", 2, 0, 1)))[2] & 1:
            return
        await asyncio.sleep(every_s)
    pytest.fail("the open limit was never made")


def float_cdab(words: tuple[int, ...]) -> float:
    """A float whose low word comes first."""
    return float(struct.unpack(">f", struct.pack(">HH", words[1], words[0]))[0])


def test_full_opening_over_the_wire(sheet: Sheet) -> None:
    """Pulse the coil, poll the limit: 146.5 s within 2 % by the polling client's own clock."""

    async def work(client: RawClient, _desk: SiteDesk) -> None:
        loop = asyncio.get_running_loop()
        assert (await client.pulse(0))[0] == 5
        begun_s = loop.time()
        await polled_open(client, every_s=0.2)
        assert loop.time() - begun_s == pytest.approx(146.0, rel=0.02)

    visit(sheet, work)


def test_unit_time_runs_faster_than_wire_time(sheet: Sheet) -> None:
    """At speed 20 an opening takes 7.3 s on the wire."""

    async def work(client: RawClient, _desk: SiteDesk) -> None:
        loop = asyncio.get_running_loop()
        await client.pulse(0)
        begun_s = loop.time()
        await polled_open(client, every_s=0.02)
        assert (loop.time() - begun_s) * 20 == pytest.approx(146.0, rel=0.03)

    visit(sheet, work, speed=20.0)


def test_turnaround_is_slept(sheet: Sheet) -> None:
    """An answer takes the unit's turnaround, no less and hardly more."""

    async def work(client: RawClient, _desk: SiteDesk) -> None:
        loop = asyncio.get_running_loop()
        begun_s = loop.time()
        assert await client.registers(4, 0, 1) == (1101,)
        assert loop.time() - begun_s == pytest.approx(TURNAROUND_S, abs=0.002)

    visit(sheet, work)


def test_two_requests_in_one_packet_are_answered_in_order(sheet: Sheet) -> None:
    """Each under its own transaction, a write behind a read included."""

    async def work(client: RawClient, _desk: SiteDesk) -> None:
        first = client.send(struct.pack(">BHH", 4, 0, 1))
        second = client.send(struct.pack(">BHH", 5, 2, 0xFF00))
        assert await client.receive() == (first, bytes.fromhex("04 02 044d"))
        number, reply = await client.receive()
        assert (number, reply[0]) == (second, 5)

    visit(sheet, work)


@pytest.mark.parametrize(
    ("pdu", "code"),
    [
        (struct.pack(">BHH", 4, 1, 1), 2),
        (struct.pack(">BHH", 3, 0, 1), 2),
        (struct.pack(">BHH", 5, 4, 0xFF00), 4),
        (struct.pack(">BHH", 6, 10, 0), 3),
        (struct.pack(">B", 7), 1),
    ],
    ids=["unmapped input", "unmapped holding", "refused command", "impossible setting", "unknown function"],
)
def test_exceptions(sheet: Sheet, pdu: bytes, code: int) -> None:
    """Illegal address 2, refused 4, illegal value 3, illegal function 1."""

    async def work(client: RawClient, _desk: SiteDesk) -> None:
        assert await client.ask(pdu) == bytes([pdu[0] | 0x80, code])

    visit(sheet, work)


def test_other_unit_ids_and_a_dead_unit_are_silent(sheet: Sheet) -> None:
    """No answer to unit 12; none at all with the control supply off, while the spring closes; then answers again."""

    async def work(client: RawClient, desk: SiteDesk) -> None:
        with pytest.raises(TimeoutError):
            await client.ask(struct.pack(">BHH", 4, 0, 1), unit=12)
        desk.act("control_supply", False)
        with pytest.raises(TimeoutError):
            await client.ask(struct.pack(">BHH", 4, 0, 1))
        await asyncio.sleep(10.0)
        assert desk.read("truth")["travel_pct"] == 0.0
        desk.act("control_supply", True)
        assert (await client.registers(4, 10, 2))[0] >= 0

    visit(sheet, work, start=End.OPEN)


def test_challenge(sheet: Sheet) -> None:
    """A client that asks random private objects can prove that it talks to a practice unit, and at what speed."""

    async def work(client: RawClient, _desk: SiteDesk) -> None:
        words = (await client.identify(0x80))[9:].decode().split()
        assert words[0] == "practice"
        assert words[1] == "speed=20"
        nonce = words[2].removeprefix("nonce=")
        for object_id in random.Random(5).sample(range(0x81, 0x100), 8):
            reply = await client.identify(object_id)
            expected = hashlib.sha256(f"practice:{nonce}:{object_id}:20".encode()).hexdigest()[:16]
            assert reply[:9] == bytes([0x2B, 0x0E, 4, 0x83, 0, 0, 1, object_id, 16])
            assert reply[9:] == expected.encode()

    visit(sheet, work, speed=20.0)


def test_basic_identification(sheet: Sheet) -> None:
    """The basic stream names a practice unit and its tag; an object that is not there is illegal (6.21)."""

    async def work(client: RawClient, _desk: SiteDesk) -> None:
        reply = await client.identify(0, read_code=1)
        assert reply[6] == 3
        assert b"practice unit" in reply
        assert b"XV-1101" in reply
        assert await client.identify(0x07) == bytes([0xAB, 2])

    visit(sheet, work)


def test_readings_equal_the_truth(sheet: Sheet) -> None:
    """Half way open: travel, pressure and current on the wire are the truth within their noise."""

    async def work(client: RawClient, desk: SiteDesk) -> None:
        await client.pulse(0)
        await asyncio.sleep(70.0)
        words = await client.registers(4, 10, 8)
        truth = desk.read("truth")
        assert float_cdab(words[0:2]) == pytest.approx(truth["travel_pct"], abs=0.06)
        assert float_cdab(words[2:4]) == pytest.approx(truth["pressure_bar"], abs=0.12)
        assert words[7] / 100 == pytest.approx(12.6, abs=0.3)

    visit(sheet, work)


def test_faults_of_the_line(sheet: Sheet) -> None:
    """Request 2 is dropped, 3 late, 4 an exception that is not carried out, 5 damaged; 6 arrives."""
    fates = {
        2: Fate(drop=True),
        3: Fate(delay_s=0.4),
        4: Fate(exception=6),
        5: Fate(alter=lambda frame: frame[:-1] + bytes([frame[-1] ^ 0xFF])),
    }
    seen: list[tuple[int, int]] = []

    def fault(number: int, function_code: int) -> Fate:
        seen.append((number, function_code))
        return fates.get(number, Fate())

    async def work(client: RawClient, desk: SiteDesk) -> None:
        loop = asyncio.get_running_loop()
        identity = struct.pack(">BHH", 4, 0, 1)
        whole = await client.ask(identity)
        with pytest.raises(TimeoutError):
            await client.ask(identity)
        begun_s = loop.time()
        assert await client.ask(identity) == whole
        assert loop.time() - begun_s == pytest.approx(0.41, abs=0.01)
        assert await client.pulse(0) == bytes([0x85, 6])
        assert desk.read("truth")["wanted"] == "closed"
        assert await client.ask(identity) == whole[:-1] + bytes([whole[-1] ^ 0xFF])
        assert await client.ask(identity) == whole

    visit(sheet, work, fault=fault)
    assert seen == [(1, 4), (2, 4), (3, 4), (4, 5), (5, 4), (6, 4)]


def test_lost_contact_drops_the_relay(sheet: Sheet) -> None:
    """After 10 s without a request the alarm relay drops and the valve holds; the next request brings it back."""

    async def work(client: RawClient, desk: SiteDesk) -> None:
        await client.registers(4, 0, 1)
        await asyncio.sleep(9.0)
        assert reply_to(desk, b'{"read": "control_room"}') == {
            "value": {
                "alarm_contact_closed": True,
                "feedback_ma": pytest.approx(20.0, abs=0.01),
                "open_limit": True,
                "closed_limit": False,
            }
        }
        await asyncio.sleep(2.0)
        assert desk.read("control_room")["alarm_contact_closed"] is False
        await client.registers(4, 0, 1)
        await asyncio.sleep(0.1)
        assert desk.read("control_room")["alarm_contact_closed"] is True
        assert desk.read("truth")["travel_pct"] == 100.0

    visit(sheet, work, start=End.OPEN)


def test_garbage_does_not_end_the_server(sheet: Sheet) -> None:
    """A connection full of rubbish is survived; the next one works."""

    async def work(client: RawClient, _desk: SiteDesk) -> None:
        client._writer.write(bytes(range(256)) * 4)
        await asyncio.sleep(0.1)
        host, port = client._writer.get_extra_info("peername")
        second = await RawClient.connect(f"tcp://{host}:{port}?unit=11")
        assert await second.registers(4, 0, 1) == (1101,)
        await second.close()

    visit(sheet, work)
