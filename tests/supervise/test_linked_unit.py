"""The link as the supervisor sees it, against a real practice unit in virtual time."""

from pathlib import Path

import pytest

from commission.leave import Leave
from commission.link.faults import WriteRefused
from commission.link.write_guard import EnergyView
from commission.sample import Outcome, Sample
from tests.supervise.rig import TESS, rig
from tests.virtual_time import run_virtual


def test_each_write_carries_the_energy_state_of_its_own_moment(tmp_path: Path) -> None:
    """Live now, unknown a moment later: the same command is answered first and refused then, without being asked."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            values: dict[str, tuple[int, ...]] = {"command_close": (1,), "command_open": (1,)}
            site.slot.grant(Leave("K1", values, 10**18, 1, TESS))
            assert (await site.unit.command("command_close", 1)).outcome is Outcome.ANSWERED
            site.view = EnergyView("unknown", 2)
            with pytest.raises(WriteRefused, match="the state is unknown"):
                await site.unit.command("command_close", 1)
            assert len(site.writes("command_close")) == 1
            assert (await site.unit.make_safe("command_stop", 1)).outcome is Outcome.ANSWERED
            assert site.truth().wanted == "stopped"

    run_virtual(main())


def test_plan_and_samples_come_from_the_link(tmp_path: Path) -> None:
    """The plan is tried at the unit, and watching it gives samples of just that plan."""

    async def main() -> None:
        async with rig(tmp_path) as site:
            plan = await site.unit.plan(("travel", "closed_limit"))
            sample = await site.unit.watch(plan).next()
            assert isinstance(sample, Sample)
            assert len(sample.reads) == len(plan.blocks)
            assert site.unit.sheet is site.link.sheet
            assert site.unit.clock is site.clock

    run_virtual(main())
