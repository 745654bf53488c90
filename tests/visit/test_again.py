"""A re-test begins from an earlier job: what it takes over, and what it leaves behind."""

from pathlib import Path

import pytest

from commission.content import Text
from commission.job import bodies
from commission.job.playback import open_archive
from commission.record.errors import RecordError
from commission.visit.again import begin_again, taken_from
from commission.walk.readiness import proved_commands
from tests.again import STEPS, handed_over
from tests.virtual_time import run_virtual, virtual_clock
from tests.visiting import TESS, Nobody, visiting


def test_everything_a_later_visit_needs_is_one_event(tmp_path: Path) -> None:
    """Identity, digest of its last event, proved commands, baselines; the earlier file is not written to."""

    async def main() -> None:
        earlier = await handed_over(tmp_path)
        before = earlier.read_bytes()
        clock = virtual_clock()
        visit = begin_again(earlier, tmp_path / "again.job", (Text("a.toml", STEPS),), clock, Nobody(), TESS)
        taken = visit.job.history.earlier
        assert taken is not None
        archive = open_archive(earlier)
        assert (taken.head, taken.events) == (archive.head, len(archive.events))
        assert (taken.tag, taken.serial, taken.practice) == ("XV-1101", "EH-40117", True)
        assert {"command_open", "command_close", "command_partial_stroke"} <= set(taken.proved)
        assert visit.job.history.baseline is not None
        assert visit.job.history.baseline.earlier
        assert visit.job.practice, "what begins from a practice job is practice (safety rule R15)"
        assert visit.job.opened.sheet == archive.job.opened.sheet
        assert proved_commands(visit.job) == set(taken.proved)
        await visit.close("over")
        assert earlier.read_bytes() == before

    run_virtual(main())


def test_what_was_touched_since_leaves_its_proofs_behind(tmp_path: Path) -> None:
    """An adjustment in the re-test: commands are proved anew."""

    async def main() -> None:
        earlier = await handed_over(tmp_path)
        clock = virtual_clock()
        visit = begin_again(earlier, tmp_path / "again.job", (Text("a.toml", STEPS),), clock, Nobody(), TESS)
        visit.record(bodies.Adjusted(touched="needle", detail="a quarter turn"), TESS)
        assert proved_commands(visit.job) == frozenset()
        await visit.close("over")
        left = taken_from(open_archive(tmp_path / "again.job"), "again.job")
        assert left.baselines == ()
        assert left.proved == ()

    run_virtual(main())


def test_a_job_without_a_baseline_can_be_begun_from_too(tmp_path: Path) -> None:
    """There is nothing to compare with then, and that is said when it is asked for."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            path = there.visit.path
        visit = begin_again(path, tmp_path / "again.job", (Text("a.toml", STEPS),), virtual_clock(), Nobody(), TESS)
        assert visit.job.history.baseline is None
        assert visit.job.history.earlier is not None
        assert visit.job.history.earlier.returned == ""
        await visit.close("over")

    run_virtual(main())


def test_a_file_that_is_no_job_is_said(tmp_path: Path) -> None:
    """And nothing new is made."""
    wrong = tmp_path / "wrong.job"
    wrong.write_bytes(b"no job at all")

    async def main() -> None:
        with pytest.raises(RecordError):
            begin_again(wrong, tmp_path / "again.job", (Text("a.toml", STEPS),), virtual_clock(), Nobody(), TESS)

    run_virtual(main())
    assert not (tmp_path / "again.job").exists()
