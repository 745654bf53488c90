"""Opening what a command names: a sheet makes a new job, a job is gone on with, an altered one is not."""

import argparse
from pathlib import Path

import pytest

from commission.cli.opening import checklist_of, is_job, open_visit
from commission.cli.output import Ending, Status
from commission.content import ContentError
from tests.cli.conftest import COMMISSIONING, SHEET
from tests.virtual_time import run_virtual, virtual_clock
from tests.visiting import TESS, Nobody


def opened(path: Path, out: Path | None = None, checklist: Path = COMMISSIONING) -> Path:
    """Open and close again; where the job lies."""

    async def main() -> Path:
        visit = open_visit(path, out, checklist, virtual_clock(), Nobody(), TESS)
        await visit.close("the test is over")
        return visit.path

    return run_virtual(main())


def test_a_job_is_told_from_a_sheet(job: Path, tmp_path: Path) -> None:
    """By its first bytes, whatever its name."""
    renamed = job.rename(tmp_path / "renamed.toml")
    assert is_job(renamed)
    assert not is_job(SHEET)
    with pytest.raises(Ending, match="expected a sheet") as ending:
        is_job(tmp_path / "nowhere")
    assert ending.value.status is Status.USAGE


def test_a_sheet_makes_a_new_job_of_the_day(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Named by tag and day, numbered where the day has one, and never over another."""
    first, second = opened(SHEET, tmp_path / "visits"), opened(SHEET, tmp_path / "visits")
    assert first.name.startswith("XV-1101-20")
    assert second.name == f"{first.stem}-2.job"
    assert f"Job file: {second}" in capsys.readouterr().err


def test_a_job_is_gone_on_with_where_it_lies(job: Path) -> None:
    """No second file; its energy state is unknown until it is proved again."""
    assert opened(job) == job


def test_an_altered_job_is_not_gone_on_with(altered: Path) -> None:
    """Status 4, with what was found."""
    with pytest.raises(Ending, match="was altered") as ending:
        opened(altered)
    assert ending.value.status is Status.DAMAGED


def test_a_checklist_that_cannot_be_used_leaves_no_job(tmp_path: Path) -> None:
    """Nothing is made before everything is read."""
    broken = tmp_path / "broken.toml"
    broken.write_text("formatt = 1\n", encoding="utf-8")
    with pytest.raises(ContentError):
        opened(SHEET, tmp_path, broken)
    assert list(tmp_path.glob("*.job")) == []


def test_the_checklist_asked_for_wins() -> None:
    """Else the packed one of that name."""
    assert checklist_of(argparse.Namespace(checklist=Path("own.toml")), "stroke.toml") == Path("own.toml")
    assert checklist_of(argparse.Namespace(), "stroke.toml").name == "stroke.toml"
