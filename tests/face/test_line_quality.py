"""The line's own counters as a measured answer: enough reads, damage counted, the bound of what went unanswered."""

import asyncio
from pathlib import Path

import pytest

from commission.checklist.model import LINE_DAMAGED, LINE_UNANSWERED
from commission.face.line_quality import READS, asked, line_quality
from commission.visit import VisitError
from tests.virtual_time import run_virtual
from tests.visiting import There, begun, visiting


@pytest.mark.parametrize("rtu", [pytest.param(False, id="tcp"), pytest.param(True, id="rtu", marks=pytest.mark.long)])
def test_a_good_line_is_shown_to_be_one(tmp_path: Path, *, rtu: bool) -> None:
    """Three thousand reads since it was opened, none damaged; 0.1 % unanswered is excluded at 95 %."""

    async def main() -> None:
        async with visiting(tmp_path, rtu=rtu) as there:
            link = there.visit.link
            assert link is not None
            before = asked(link.health.counts)
            assert await line_quality(there.visit, LINE_DAMAGED) == 0
            assert asked(link.health.counts) == READS
            assert before < READS
            bound = await line_quality(there.visit, LINE_UNANSWERED)
            assert bound == pytest.approx(0.0998, abs=1e-4)
            assert asked(link.health.counts) == READS, "the second question needs no more of them"

    run_virtual(main())


def test_what_was_lost_and_damaged_counts(tmp_path: Path) -> None:
    """One unanswered and two damaged among three thousand: neither is the trade's line any more."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            link = there.visit.link
            assert link is not None
            link.health.counts.update({"answered": READS - 5, "NoAnswer": 1, "BadAnswer": 2})
            assert await line_quality(there.visit, LINE_DAMAGED) == 2
            assert 0.15 < await line_quality(there.visit, LINE_UNANSWERED) < 0.17

    run_virtual(main())


def test_what_was_asked_of_a_unit_that_was_locked_off_is_not_the_lines_fault(tmp_path: Path) -> None:
    """Unanswered during the lockout is not counted; what goes unanswered in control is, though contact comes back."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            visit = there.visit
            there.arrive()
            there.cross("in operation", "locked")
            await lost_and_back(there)
            there.cross("control")
            assert await line_quality(visit, LINE_UNANSWERED) == pytest.approx(0.0998, abs=1e-4)
            await lost_and_back(there)
            assert visit.job.contact.losses == 2
            assert await line_quality(visit, LINE_UNANSWERED) > 0.1

    run_virtual(main())


async def lost_and_back(there: There) -> None:
    """The unit is deaf to one read, which goes unanswered, and then hears again."""
    link = there.visit.link
    assert link is not None
    before = link.health.counts["NoAnswer"]
    there.unit.server.deaf = True
    assert not await there.visit.answers_again()
    there.unit.server.deaf = False
    there.unit.hang_up()
    await asyncio.sleep(0.5)
    assert await there.visit.answers_again()
    assert link.health.counts["NoAnswer"] > before


def test_a_line_that_loses_much_is_not_asked_three_thousand_times(tmp_path: Path) -> None:
    """Twenty are enough to say so."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            link = there.visit.link
            assert link is not None
            link.health.counts.update({"NoAnswer": 20})
            assert await line_quality(there.visit, LINE_UNANSWERED) > 0.1
            assert asked(link.health.counts) < 200

    run_virtual(main())


def test_without_a_line_nothing_is_measured(tmp_path: Path) -> None:
    """It is said; nothing is taken for zero."""

    async def main() -> None:
        visit = await begun(tmp_path / "XV-1101.job")
        with pytest.raises(VisitError, match="no line"):
            await line_quality(visit, LINE_DAMAGED)
        await visit.close("over")

    run_virtual(main())
