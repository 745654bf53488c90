"""What may be asked for beside answering: another state, a step not done, a crossing abandoned, who types."""

from collections.abc import Callable
from pathlib import Path

import pytest

from commission.energy import EnergyState
from commission.face import on_request
from commission.job import bodies
from commission.walk import acts, route
from tests.virtual_time import run_virtual
from tests.visiting import MARA, TESS, There, visiting


def at_a_visit(folder: Path, check: Callable[[There], None]) -> None:
    """Check something at a real visit."""

    async def main() -> None:
        async with visiting(folder) as there:
            there.arrive()
            check(there)

    run_virtual(main())


def test_a_step_is_left_with_its_reason(tmp_path: Path) -> None:
    """Begun first where it was not; without a reason nothing happens."""

    def check(there: There) -> None:
        visit = there.visit
        step = visit.job.checklist.step("I2")
        with pytest.raises(ValueError, match="why it could not be done"):
            on_request.not_done(visit, step, " ", TESS)
        assert "I2" not in visit.job.steps
        on_request.not_done(visit, step, "no time", TESS)
        last = visit.job.steps["I2"].last
        assert last is not None
        assert (last.verdict, last.reason) == ("not tested", "no time")

    at_a_visit(tmp_path, check)


def test_somebody_else_is_at_the_keyboard(tmp_path: Path) -> None:
    """A known name needs no role again; no name is refused."""

    def check(there: There) -> None:
        with pytest.raises(ValueError, match="name and role"):
            on_request.person(there.visit, " , operator")
        assert on_request.person(there.visit, "J. Demoval , fitter") == "J. Demoval"
        assert there.visit.job.register.people["J. Demoval"].role == "fitter"
        before = there.visit.job.last_n
        assert on_request.person(there.visit, MARA) == MARA
        assert there.visit.job.last_n == before

    at_a_visit(tmp_path, check)


def test_without_a_crossing_in_the_checklist_there_is_no_way(tmp_path: Path) -> None:
    """And where none is under way, none can be abandoned."""

    def check(there: There) -> None:
        assert on_request.ways(there.visit) == ()
        with pytest.raises(ValueError, match="from here one crosses to: nowhere"):
            on_request.cross_to(there.visit, "live", TESS)
        with pytest.raises(acts.ActError, match="no crossing is under way"):
            on_request.abandon(there.visit, "bleed seized", TESS)
        there.cross("in operation")
        there.visit.record(bodies.EnergyBegun(target="locked"), TESS)
        on_request.abandon(there.visit, "bleed seized", TESS)
        assert there.visit.job.energy_log.now.state is EnergyState.UNKNOWN

    at_a_visit(tmp_path, check)


def test_ways_are_the_checklists_crossings_from_here() -> None:
    """Each target once, for the commissioning checklist on a new job."""
    from tests.walk.visits import Visit  # a job in memory stands for a visit here

    visit = Visit()
    ways = on_request.ways(visit)  # type: ignore[arg-type]  # only its job is looked at
    assert ways
    assert len(set(ways)) == len(ways)
    assert set(ways) == {step.crosses for step in route.crossings_from(visit.job)}
