"""The line of a visit against a real practice unit: contact lost and back, opened and closed as steps."""

import asyncio
import contextlib
from pathlib import Path

import pytest

from commission.link.faults import LinkError
from commission.supervise.safe_end import SafeEndSeen
from commission.visit import VisitError
from tests.virtual_time import run_virtual
from tests.visiting import TESS, closing, first_use, kinds_of, visiting


def test_contact_lost_and_back_is_recorded_once_each(tmp_path: Path) -> None:
    """A unit that does not answer, then does; what cannot be polled at all is no loss of contact."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            visit = there.visit
            assert (await visit.read(["travel"])).value("travel") is not None
            with pytest.raises(VisitError):
                await visit.read(["no_such_point"])
            assert visit.job.contact.up
            there.unit.server.deaf = True
            for _ in range(2):
                with pytest.raises(VisitError, match="does not answer"):
                    await visit.read(["travel"])
            assert not await visit.answers_again()
            assert (visit.job.contact.up, visit.job.contact.losses) == (False, 1)
            there.unit.server.deaf = False
            there.unit.hang_up()
            await asyncio.sleep(0.5)
            assert await visit.answers_again()
            assert visit.job.contact.up
            assert [kind for kind in kinds_of(visit) if kind.startswith("contact")] == [
                "contact_lost",
                "contact_back",
            ]

    run_virtual(main())


def test_silent_end_of_a_motion_is_a_loss_of_contact(tmp_path: Path) -> None:
    """Safe end unconfirmed: the visit says at once that the unit does not answer."""

    async def main() -> None:
        async with visiting(tmp_path, speed=5) as there:
            running = await closing(there)
            there.unit.server.deaf = True
            ended = await running
            assert ended.safe_end.seen is SafeEndSeen.UNCONFIRMED
            assert not there.visit.job.contact.up
            there.unit.server.deaf = False

    run_virtual(main())


def test_reading_beside_the_walk_ends_though_its_cancellation_was_lost(tmp_path: Path) -> None:
    """An answer of the same moment takes it away in Python 3.11; the visit ends all the same."""

    async def deaf_once() -> None:
        with contextlib.suppress(asyncio.CancelledError):
            await asyncio.Event().wait()
        await asyncio.Event().wait()

    async def main() -> None:
        async with visiting(tmp_path) as there:
            line = there.visit._connection
            line._reading = reading = asyncio.get_running_loop().create_task(deaf_once())
            await asyncio.sleep(0.1)
            await asyncio.wait_for(line.stop_reading(), 10)
            assert reading.cancelled()

    run_virtual(main())


def test_disconnect_says_what_the_unit_will_do(tmp_path: Path) -> None:
    """The sheet's words are in the record (R16); afterwards there is no line to read, stop or run anything on."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            visit = there.visit
            await visit.disconnect(TESS)
            assert visit.job.contact.reason == "disconnected"
            with pytest.raises(VisitError, match="no line"):
                await visit.read(["travel"])
            with pytest.raises(VisitError, match="no line"):
                await visit.perform(visit.job.checklist.step("K1-open"), first_use(visit), TESS)
            assert not visit.stop(TESS, "stop key")
            await there.connect()
            assert visit.job.contact.up

    run_virtual(main())


def test_line_that_cannot_be_opened_leaves_none(tmp_path: Path) -> None:
    """After a failed connect there is no half-open line to run a motion on."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            with pytest.raises(LinkError):
                await there.visit.connect("tcp://127.0.0.1:1", other_master="none", agreed_by="M", by=TESS)
            assert (there.visit.link, there.visit.supervisor) == (None, None)

    run_virtual(main())
