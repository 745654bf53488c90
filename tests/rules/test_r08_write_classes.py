"""Safety rule R8: which write may go, proved at the unit: what is refused never reaches its wire."""

import asyncio
import itertools
from pathlib import Path

import pytest

from commission.job.bodies import EnergyLost
from commission.link.faults import WriteRefused
from commission.supervise.order import MotionRefused
from commission.supervise.safe_end import AGAIN_S
from tests.supervise.rig import rig
from tests.supervise.small import closes, watches_for_ever
from tests.virtual_time import run_virtual
from tests.visiting import TESS, visiting


def test_r08_stop_goes_in_any_state_unarmed_and_again(tmp_path: Path) -> None:
    """Energy unknown, no leave, nothing proved: STOP reaches the unit each time it is given; a motion never does."""

    async def main() -> None:
        async with visiting(tmp_path, start="open") as there:
            visit, server = there.visit, there.unit.server
            assert visit.link is not None
            for _ in range(3):
                await visit.link.make_safe("command_stop", 1, visit.energy_view())
            for role in ("command_close", "command_open"):
                with pytest.raises(WriteRefused):
                    await visit.link.write(role, 1, visit.energy_view())
                with pytest.raises(WriteRefused):
                    await visit.link.make_safe(role, 1, visit.energy_view())
            assert len([frame for frame in server.frames if frame.is_write]) == 3
            assert there.unit.desk.read("truth")["wanted"] == "stopped"

    run_virtual(main())


def test_r08_stop_is_sent_again_until_seen_received(tmp_path: Path) -> None:
    """Every 0.3 s at most while the unit does not show it; not once more after it has."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            running = asyncio.ensure_future(site.run(closes(watches_for_ever())))
            await site.until(lambda truth: truth.travel_pct < 60)
            site.supervisor.stop(TESS, "stop key")
            await running
            sent = [frame.at_s for frame in site.writes("command_stop")]
            assert 2 <= len(sent) <= 6
            assert all(later - sooner < AGAIN_S + 0.05 for sooner, later in itertools.pairwise(sent))
            await asyncio.sleep(5)
            assert len(site.writes("command_stop")) == len(sent)

    run_virtual(main())


def test_r08_live_use_waits_for_the_pulse_that_proves_it(tmp_path: Path) -> None:
    """Refused before; the pulse in control sends each command and its effect is seen; then the stroke may run."""

    async def main() -> None:
        async with visiting(tmp_path, speed=20) as there:
            there.arrive()
            there.cross("in operation", "locked", "control", "live")
            with pytest.raises(MotionRefused, match="command_open was not pulsed in control"):
                await there.run("K1-open")
            assert not [frame for frame in there.unit.server.frames if frame.is_write]
            there.cross("locked", "control")
            proved = await there.prove_commands()
            assert proved.observed is not None
            assert proved.observed.all_proved
            sheet = there.visit.job.sheet
            roles = {
                sheet.wire_address(point): point.role for point in sheet.points if point.role.startswith("command_")
            }
            sent = [roles[frame.address] for frame in there.unit.server.frames if frame.is_write]
            assert sent[:4] == ["command_open", "command_stop", "command_open", "command_close"]
            assert sent[4] == "command_partial_stroke", "which the unit refuses, as it must"
            assert set(sent[5:]) <= {"command_stop"}, "the safe end, where rest was not seen yet"
            assert there.unit.desk.read("truth")["travel_pct"] == 0, "a pulse in control moves nothing"
            there.cross("live")
            there.opened_at_the_panel()
            assert (await there.stroke("closed")).how == "finished"

    run_virtual(main())


def test_r08_unknown_counts_as_locked_for_writes(tmp_path: Path) -> None:
    """After the state is lost the proved and confirmed stroke is refused until it is proved anew."""

    async def main() -> None:
        async with visiting(tmp_path, speed=20) as there:
            await there.go_live()
            there.opened_at_the_panel()
            writes = len([frame for frame in there.unit.server.frames if frame.is_write])
            there.visit.record(EnergyLost(reason="a gap"))
            with pytest.raises(MotionRefused, match="only in live; the unit is unknown"):
                await there.run("K1-close")
            assert len([frame for frame in there.unit.server.frames if frame.is_write]) == writes

    run_virtual(main())
