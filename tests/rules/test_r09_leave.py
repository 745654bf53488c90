"""Safety rule R9: leave is given for one test, outlives its longest legal run, and ends with it."""

import asyncio
from pathlib import Path

import msgspec
import pytest

from commission.job.bodies import LeaveGiven, LeaveWithdrawn
from commission.leave import Leave
from commission.link.faults import WriteRefused
from commission.procedures.requests import Begin, Command, CommandValue, Procedure, SafeEnd
from commission.supervise.order import MotionOrder, MotionRefused
from tests.supervise.rig import rig
from tests.supervise.small import begin, watches_for_ever
from tests.virtual_time import run_virtual
from tests.visiting import TESS, visiting


def test_r09_leave_names_test_points_and_values_and_ends_with_the_test(tmp_path: Path) -> None:
    """In force during the stroke only, longer than it may last; before and after nothing can be written."""

    async def main() -> None:
        async with visiting(tmp_path, speed=20) as there:
            await there.go_live()
            there.opened_at_the_panel()
            given: list[LeaveGiven] = []
            there.visit.on_event(lambda _event: given.extend(_leave(there.visit.job.contact.leave)))
            await there.stroke("closed")
            leave = given[0]
            assert leave.test == "K1-close closed 1"
            assert dict(leave.values) == {"command_close": (1,), "command_stop": (1,)}
            run = there.visit.job.runs["K1-close-closed-1"]
            begun_ns = run.sent[0].at_ns
            longest_s = there.visit.job.sheet.protections.travel_timeout_close_s
            assert leave.until_ns - begun_ns > longest_s * 1e9
            assert there.visit.job.contact.leave is None
            assert there.visit.link is not None
            with pytest.raises(WriteRefused, match="has ended"):
                await there.visit.link.write("command_close", 1, there.visit.energy_view())

    run_virtual(main())


def _leave(leave: LeaveGiven | None) -> list[LeaveGiven]:
    return [] if leave is None else [leave]


def test_r09_a_confirmation_gives_one_movement(tmp_path: Path) -> None:
    """A second run on the same word is refused; nothing more reaches the unit."""

    async def main() -> None:
        async with visiting(tmp_path, speed=20) as there:
            await there.go_live()
            there.opened_at_the_panel()
            await there.run("K1-close")
            there.opened_at_the_panel()
            writes = len([frame for frame in there.unit.server.frames if frame.is_write])
            step = there.visit.job.checklist.step("K1-close")
            with pytest.raises(MotionRefused, match="not confirmed"):
                await there.visit.perform(step, step.procedures[0], TESS)
            assert len([frame for frame in there.unit.server.frames if frame.is_write]) == writes

    run_virtual(main())


def test_r09_return_stays_allowed_until_the_test_has_ended(tmp_path: Path) -> None:
    """The clock has passed the leave's end in mid-test: the return still goes, the command that opens does not."""

    async def main() -> None:
        async with rig(tmp_path, start="closed") as site:
            back = CommandValue("command_close")
            first = begin("command_open", "command_close", safe_end=SafeEnd.RETURN, safe_command=back)

            def opens() -> Procedure[None]:
                yield first
                yield Command("command_open")
                yield from watches_for_ever()

            give = site.leave_for

            def short(begun: Begin, order: MotionOrder) -> Leave:
                leave = give(begun, order)
                return msgspec.structs.replace(leave, until_ns=site.clock.unit_ns() + 10**9, returns=("command_close",))

            site.supervisor._leave_for = short
            running = asyncio.ensure_future(site.run(opens()))
            await asyncio.sleep(6)
            assert site.link.write_refusal("command_open", 1, site.view) is not None
            site.supervisor.stop(TESS, "return key")
            await running
            assert site.writes("command_close")
            assert site.truth().wanted == "closed"
            assert site.bodies(LeaveWithdrawn)

    run_virtual(main())
