"""The people beside a practice unit, asked from the program."""

import asyncio

import pytest

from commission.cli.answers_file import SiteAct
from commission.cli.output import Ending, Status
from commission.cli.site import Site
from commission.practice.control_port import ControlPort
from tests.supervise.rig import demo_sheet, served
from tests.virtual_time import run_virtual


@pytest.mark.parametrize("address", ["", "host", "host:", ":1", "host:port"])
def test_an_address_that_is_none_says_what_was_expected(address: str) -> None:
    """With status 2."""
    with pytest.raises(Ending, match="expected host:port") as ending:
        Site(address)
    assert ending.value.status is Status.USAGE


def test_people_act_and_look() -> None:
    """A bleed opened here is a gauge that falls there; what cannot be done or read is a sentence."""

    async def main() -> None:
        async with served(demo_sheet()) as unit:
            port = ControlPort(unit.desk)
            site = Site(await port.open())
            assert (await site.read("gauges"))["PG-1"] > 0
            await site.act(SiteAct(act="bleed", which="BV-1", value=True))
            await asyncio.sleep(30)
            assert (await site.read("gauges"))["PG-1"] == 0
            with pytest.raises(Ending, match="no act 'dance'"):
                await site.act(SiteAct(act="dance"))
            with pytest.raises(Ending, match="nothing called 'minds'"):
                await site.read("minds")
            await port.close()

    run_virtual(main())


def test_what_the_unit_may_rightly_refuse_is_tried() -> None:
    """Tripped, it refuses to open, with its reason; reset, it obeys."""

    async def main() -> None:
        async with served(demo_sheet()) as unit:
            port = ControlPort(unit.desk)
            site = Site(await port.open())
            opens = SiteAct(act="local_open", tried=True)
            await site.act(SiteAct(act="selector", value="LOCAL"))
            await site.act(SiteAct(act="esd_button", value=True))
            await asyncio.sleep(1)
            assert "tripped" in await site.attempt(opens)
            await site.act(SiteAct(act="esd_button", value=False))
            await asyncio.sleep(1)
            await site.act(SiteAct(act="local_reset"))
            assert await site.attempt(opens) == "obeyed"
            await port.close()

    run_virtual(main())


def test_nobody_there_is_status_3() -> None:
    """A closed port is a unit that is gone."""

    async def main() -> None:
        with pytest.raises(Ending, match="nobody answers") as ending:
            await Site("127.0.0.1:9").read("gauges")
        assert ending.value.status is Status.UNREACHED

    run_virtual(main())


@pytest.mark.parametrize("gives_up", [True, False], ids=["given up", "answered with nonsense"])
def test_whoever_is_left_without_an_answer_hangs_up(*, gives_up: bool) -> None:
    """A look that is given up, as when the app ends, or that gets nonsense, leaves no connection behind."""

    async def main() -> None:
        hung_up = asyncio.Event()

        async def mute(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
            await reader.readline()
            if not gives_up:
                writer.write(b"what?\n")
            if not await reader.read():
                hung_up.set()
            writer.close()

        async with await asyncio.start_server(mute, "127.0.0.1", 0) as server:
            host, port = server.sockets[0].getsockname()
            asking = asyncio.ensure_future(Site(f"{host}:{port}").read("gauges"))
            await asyncio.sleep(0.1)
            asking.cancel()
            await asyncio.wait({asking})
            assert asking.cancelled() is gives_up
            await asyncio.wait_for(hung_up.wait(), 1.0)
            if not gives_up:
                with pytest.raises(Ending, match="nobody answers"):
                    asking.result()

    run_virtual(main())
