"""Whenever live is entered or left, the unit is looked at; what another master changed meanwhile is found."""

from pathlib import Path

from commission.job.bodies import EnergyBegun, EnergyEntered
from commission.visit.survey import ENTERING, LEAVING, look, looks_when
from tests.virtual_time import run_virtual
from tests.visiting import TESS, There, visiting


def between(there: There) -> None:
    """Another master raises the run-time limit."""
    there.unit.desk.act("other_master_sets", 900.0, which="run_limit")
    there.unit.desk.unit.advance(1)


def test_entering_and_leaving_live_are_looks_and_nothing_else_is(tmp_path: Path) -> None:
    """A crossing that begins in control, or ends in locked, is none."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            await there.go_live()
            visit = there.visit
            assert looks_when(visit, (EnergyBegun(target="locked"),)) == LEAVING
            assert looks_when(visit, (EnergyEntered(state="live"),)) == ENTERING
            assert looks_when(visit, (EnergyEntered(state="control"),)) == ""
            there.cross("locked", "control")
            assert looks_when(visit, (EnergyBegun(target="live"),)) == ""

    run_virtual(main())


def test_setting_changed_by_another_master_is_found_on_the_way_back_to_live(tmp_path: Path) -> None:
    """It is a deviation with both values and the time of the last look; nothing else is."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            await there.go_live()
            await look(there.visit, ENTERING)
            await look(there.visit, LEAVING)
            assert not there.visit.job.deviations
            between(there)
            await look(there.visit, ENTERING)
            (deviation,) = there.visit.job.deviations.values()
            assert "run-time limit 300 s to 900 s" in deviation.raised.found
            await look(there.visit, LEAVING)
            assert len(there.visit.job.deviations) == 1, "it is told once"

    run_virtual(main())


def test_silent_unit_leaves_the_last_look_standing(tmp_path: Path) -> None:
    """Nothing is concluded from an answer that did not come; the loss of contact is said by itself."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            await there.go_live()
            await look(there.visit, LEAVING)
            before = there.visit.job.surveyed
            there.unit.server.deaf = True
            await look(there.visit, ENTERING)
            assert there.visit.job.surveyed == before
            assert not there.visit.job.contact.up
            there.unit.server.deaf = False

    run_virtual(main())


def test_nothing_is_looked_at_without_a_line(tmp_path: Path) -> None:
    """A walk may enter live before anybody has connected."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            await there.visit.disconnect(TESS)
            await look(there.visit, ENTERING)
            assert there.visit.job.surveyed is None

    run_virtual(main())
