"""Tests of the report screen: the text scrolls, F writes the PDF beside the job and says where."""

from pathlib import Path

import pytest

from commission.terminal.screens.report import ReportScreen, is_interim
from tests.terminal.prepared import opened


@pytest.mark.asyncio
async def test_report_is_shown_as_text_and_scrolls(tmp_path: Path) -> None:
    """The text has the unit's tag, says that the job was practice, and goes on below the fold."""
    async with opened(tmp_path) as there:
        await there.show(ReportScreen())
        first = await there.until("As-left report")
        whole = await there.scrolled()
        assert is_interim(there.visit)
    assert "XV-1101 / PRACTICE" in first
    assert "K1-close" in whole
    assert len(whole) > len(first)


@pytest.mark.asyncio
async def test_f_writes_the_pdf_beside_the_job_and_says_where(tmp_path: Path) -> None:
    """The file is a PDF beside the job; the text stays in sight."""
    async with opened(tmp_path) as there:
        await there.show(ReportScreen())
        await there.until("As-left report")
        await there.press("f")
        text = await there.until("Wrote")
        out = there.visit.path.with_suffix(".pdf")
    assert out.read_bytes().startswith(b"%PDF")
    assert "As-left report" in text
    assert "".join(text.split()).count("XV-1101.pdf") == 1


@pytest.mark.asyncio
async def test_pdf_that_cannot_be_written_says_why(tmp_path: Path) -> None:
    """Where the place is taken by a folder one sentence says so; no PDF and no part of one is left."""
    async with opened(tmp_path) as there:
        there.visit.path.with_suffix(".pdf").mkdir()
        await there.show(ReportScreen())
        await there.until("As-left report")
        await there.press("f")
        text = await there.until("No PDF was written")
    assert "cannot be written" in " ".join(text.split())


@pytest.mark.asyncio
async def test_report_that_is_left_while_it_is_made_is_not_drawn(tmp_path: Path) -> None:
    """Somebody opens the report and goes back at once; its text comes when nothing is there to show it."""
    async with opened(tmp_path) as there:
        left = ReportScreen()
        await there.show(left)
        await there.app.pop_screen()
        await left._make()
        await left._write()
        assert "Jobs on this laptop" in await there.text()
    assert there.visit.path.with_suffix(".pdf").exists()
