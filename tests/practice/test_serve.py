"""Everything together in one virtual loop: ready, speed, life and end."""

import asyncio
import hashlib
import struct
from pathlib import Path

import pytest

from commission.practice.mechanism import NotServed
from commission.practice.serve import IDLE_S, ServedAt, clamp_speed, serve
from commission.practice.setup import Setup
from commission.practice.trouble import Trouble
from commission.sheet import Sheet
from tests.practice.made import PCV
from tests.practice.wire_client import RawClient
from tests.virtual_time import run_virtual, virtual_clock


def exists(path: str) -> bool:
    """Whether there is such a file."""
    return Path(path).exists()


async def ready(
    sheet: Sheet, url: str, stop: asyncio.Event, speed: float = 1.0, idle_s: float = IDLE_S
) -> tuple[asyncio.Task[None], ServedAt]:
    """A serving task and where it serves."""
    found: asyncio.Future[ServedAt] = asyncio.get_running_loop().create_future()
    task = asyncio.ensure_future(
        serve(sheet, url, speed=speed, clock=virtual_clock(), on_ready=found.set_result, stop=stop, idle_s=idle_s)
    )
    return task, await found


@pytest.mark.parametrize(("asked", "served"), [(0.1, 1.0), (20.0, 20.0), (600.0, 60.0)])
def test_speed_is_clamped_and_stated(sheet: Sheet, asked: float, served: float) -> None:
    """1 to 60, in the ready line and in the identification alike."""

    async def main() -> None:
        stop = asyncio.Event()
        task, at = await ready(sheet, "tcp://127.0.0.1:0", stop, asked)
        client = await RawClient.connect(at.url)
        said = (await client.identify(0x80))[9:].decode()
        nonce = said.split("nonce=")[1]
        assert at.speed == clamp_speed(asked) == served
        assert f"speed={served:g} " in said
        digest = hashlib.sha256(f"practice:{nonce}:200:{served:g}".encode()).hexdigest()[:16]
        assert (await client.identify(200))[9:].decode() == digest
        await client.close()
        stop.set()
        await task

    run_virtual(main())


def test_serial_url_names_a_terminal(sheet: Sheet) -> None:
    """A new pseudo-terminal, 8N1 because a pseudo-terminal refuses parity; gone when served no more."""

    async def main() -> None:
        stop = asyncio.Event()
        task, at = await ready(sheet, "rtu://", stop)
        path = at.url.removeprefix("rtu://").split("?")[0]
        assert exists(path)
        assert at.url == f"rtu://{path}?baud=19200&parity=N&stop=1&unit=11"
        stop.set()
        await task
        assert not exists(path)

    run_virtual(main())


def test_ends_when_left_alone(sheet: Sheet) -> None:
    """And not before; a request starts the time anew. Shortened to 60 s here; ten minutes is the default."""
    assert IDLE_S == 600.0

    async def main() -> None:
        loop = asyncio.get_running_loop()
        begun_s = loop.time()
        task, at = await ready(sheet, "tcp://127.0.0.1:0", asyncio.Event(), idle_s=60.0)
        client = await RawClient.connect(at.url)
        await asyncio.sleep(40.0)
        assert await client.registers(4, 0, 1) == (1101,)
        await client.close()
        await task
        assert loop.time() - begun_s == pytest.approx(40.0 + 60.0, abs=0.5)

    run_virtual(main())


@pytest.mark.parametrize(
    ("url", "start", "says"), [("http://x", "open", "tcp://"), ("rtu://", "ajar", "closed or open")]
)
def test_what_is_not_served_is_said(sheet: Sheet, url: str, start: str, says: str) -> None:
    """Another scheme, another start."""

    async def main() -> None:
        with pytest.raises(NotServed, match=says):
            await serve(sheet, url, start=start, clock=virtual_clock(), on_ready=lambda _at: None, stop=asyncio.Event())

    run_virtual(main())


def test_a_unit_without_a_link_is_served_to_eyes_and_hands() -> None:
    """No address to connect to; the people beside it act, look and measure, and keep it alive by it."""

    async def main() -> None:
        stop = asyncio.Event()
        task, at = await ready(PCV, "tcp://127.0.0.1:0", stop, idle_s=60.0)
        assert at.url == ""
        host, port = at.control.split(":")
        reader, writer = await asyncio.open_connection(host, int(port))

        async def tell(line: bytes) -> bytes:
            writer.write(line + b"\n")
            return await reader.readline()

        assert await tell(b'{"read": "volts"}') == b'{"value": 2.0}\n'
        assert await tell(b'{"act": "command_signal", "value": 10.0}') == b'{"done": true}\n'
        for _ in range(5):
            await asyncio.sleep(40.0)
            assert b"value" in await tell(b'{"read": "stem"}')
        assert await tell(b'{"read": "volts"}') == b'{"value": 10.0}\n'
        assert await tell(b'{"read": "stem"}') == b'{"value": 90.0}\n'
        assert not task.done()
        writer.close()
        await asyncio.wait_for(task, 120.0)

    run_virtual(main())


def test_another_unit_of_the_same_address(sheet: Sheet) -> None:
    """Identities alternate, some answers collide; the neighbour obeys too, and stands at its other end."""

    async def main() -> None:
        found: asyncio.Future[ServedAt] = asyncio.get_running_loop().create_future()
        stop, seen = asyncio.Event(), set()
        task = asyncio.ensure_future(
            serve(
                sheet, "tcp://127.0.0.1:0", clock=virtual_clock(), on_ready=found.set_result, stop=stop, seed=3,
                setup=Setup(line=Trouble(duplicate=1.0)), start="open",
            )
        )  # fmt: skip
        url, limits, collided = (await found).url, set(), 0
        for _ in range(60):
            client = await RawClient.connect(url)
            try:
                seen |= set(await client.registers(4, 0, 1))
                limits |= set(struct.unpack(">B", (await client.ask(bytes((2, 0, 0, 0, 2))))[2:]))
            except (AssertionError, struct.error, TimeoutError):
                collided += 1
            await client.close()
        assert {1101, 1102} <= seen
        assert {0b01, 0b10} <= limits  # one open, one closed
        assert collided > 20
        stop.set()
        await task

    run_virtual(main())
