"""Safety rule R15: practice is learnt from the unit, proved anew at each reconnect, and marks the record for good."""

import asyncio
from pathlib import Path

from commission.job.playback import open_archive
from commission.job.state import fold
from commission.practice.identification import fresh_identification
from commission.record.reader import Reader
from commission.supervise.safe_end import SafeEndSeen
from commission.visit import Visit
from tests.supervise.rig import rig
from tests.supervise.small import closes, watches_for_ever
from tests.virtual_time import run_virtual, virtual_clock
from tests.visiting import Nobody, visiting


def test_r15_record_says_practice_for_good(tmp_path: Path) -> None:
    """Connected once to a practice unit, the job is practice in every later session, line or no line."""

    async def main() -> None:
        async with visiting(tmp_path, speed=20) as there:
            assert there.visit.job.practice
            assert there.visit.clock.speed == 20
        again = Visit.resume(tmp_path / "XV-1101.job", virtual_clock(), Nobody())
        assert again.job.practice
        await again.close("left")

    run_virtual(main())
    assert open_archive(tmp_path / "XV-1101.job").job.practice


def test_r15_without_a_line_it_is_not_practice(tmp_path: Path) -> None:
    """It is learnt from the unit, not from a flag."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            with Reader(there.visit.path) as reader:
                first_two = list(reader.events())[:2]
            assert not fold(first_two).practice

    run_virtual(main())


def test_r15_another_unit_after_a_cut_gets_nothing(tmp_path: Path) -> None:
    """In mid-stroke the line is cut and another practice unit answers: nothing is written to it, leave is gone."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            running = asyncio.ensure_future(site.run(closes(watches_for_ever())))
            await site.until(lambda truth: truth.travel_pct < 80)
            writes = len(site.writes())
            site.server._identification = fresh_identification("XV-1101", 5.0)
            site.drop_line()
            ended = await running
            assert ended.how == "aborted"
            assert ended.safe_end.seen is SafeEndSeen.UNCONFIRMED
            assert len(site.writes()) == writes
            assert site.slot.current is None

    run_virtual(main())
