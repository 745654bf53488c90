"""What may be asked for beside the answer."""

from pathlib import Path

import pytest

from commission.job import bodies
from commission.terminal import aside
from tests.virtual_time import run_virtual
from tests.visiting import MARA, OLLIE, TESS, visiting


def test_somebody_known_is_chosen_by_number(tmp_path: Path) -> None:
    """In the order in which they came; another name is passed on as it was typed."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            there.arrive()
            became: list[str] = []
            asked = aside.who_is_there(there.visit, became.append)
            assert asked.lines[1:] == (f" 1  {TESS}", f" 2  {OLLIE}", f" 3  {MARA}")
            asked.take("2")
            asked.take("J. Demoval, fitter")
            assert became == [OLLIE, "J. Demoval, fitter"]
            with pytest.raises(ValueError, match="nobody has number 9"):
                asked.take("9")

    run_virtual(main())


def test_a_crossing_under_way_is_abandoned_with_a_reason(tmp_path: Path) -> None:
    """Otherwise the ways from here are offered, and where there is none that is said."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            there.arrive()
            with pytest.raises(ValueError, match="no crossing of the checklist leads"):
                aside.another_state(there.visit, TESS)
            there.cross("in operation")
            there.visit.record(bodies.EnergyBegun(target="locked"), TESS)
            asked = aside.another_state(there.visit, TESS)
            assert "Why is the crossing to locked not completed?" in asked.lines
            asked.take("bleed valve seized")
            assert "bleed valve seized" in there.visit.job.energy_log.now.reason

    run_virtual(main())


def test_a_step_is_left_with_its_reason(tmp_path: Path) -> None:
    """What that means is said before."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            step = there.visit.job.checklist.step("I2")
            asked = aside.why_not_done(there.visit, step, TESS)
            assert "not tested" in asked.lines[1]
            asked.take("no time")
            assert there.visit.job.steps["I2"].last is not None

    run_virtual(main())
