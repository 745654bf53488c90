"""Tests of the temporary list: kinds by number, off with a second person, refusals in words."""

from pathlib import Path

import pytest

from commission.terminal.screens.temporary import TemporaryScreen, temporary_lines
from tests.terminal.prepared import HOSTILE, opened


@pytest.mark.asyncio
async def test_list_says_what_is_on_since_when_and_by_whom(tmp_path: Path) -> None:
    """What is on comes first; what is off says who saw it and what proved it."""
    async with opened(tmp_path) as there:
        text = await there.show(TemporaryScreen())
    assert "1 ON, 1 off again" in text
    assert text.index("T1  ON") < text.index("T2  off")
    assert "seen by Ollie Sampleton" in text
    assert "jumper wire" in text


@pytest.mark.asyncio
async def test_kind_is_chosen_by_its_number(tmp_path: Path) -> None:
    """A opens the form with all kinds numbered; a number, what, where and why put it on the list."""
    async with opened(tmp_path) as there:
        await there.show(TemporaryScreen())
        form = await there.press("a")
        text = await there.type_line("6; blue wire; TB-2 7; insulation test")
        kinds = [item.added.kind for item in there.visit.job.temporary.values()]
    assert " 6 lifted wire" in form
    assert "18 set point from the link" in form, "the last kind is in sight too"
    assert kinds[-1] == "lifted-wire"
    assert "blue wire" in text
    assert "2 ON" in text


@pytest.mark.asyncio
async def test_off_needs_somebody_else(tmp_path: Path) -> None:
    """The person at the keys cannot be the second person; with another one it comes off."""
    async with opened(tmp_path) as there:
        await there.show(TemporaryScreen())
        await there.press("o")
        refused = await there.type_line("1; Tess Placeholder; loop healthy")
        assert there.visit.job.temporary["T1"].is_on
        text = await there.type_line("t1; Ollie Sampleton; loop healthy at 15:40")
    assert "cannot be the second person" in refused
    assert "0 ON, 2 off again" in text


@pytest.mark.asyncio
async def test_wrong_line_says_what_was_expected_and_keeps_the_form(tmp_path: Path) -> None:
    """Too few parts, or a kind that is not there, records nothing and says what is wanted; Esc closes the form."""
    async with opened(tmp_path) as there:
        await there.show(TemporaryScreen())
        await there.press("a")
        few = await there.type_line("jumper; wire")
        unknown = await there.type_line("99; wire; there; why")
        count = len(there.visit.job.temporary)
        closed = await there.press("escape")
    assert "4 parts" in few
    assert "'99' is not in the list" in unknown
    assert count == 2
    assert "Type:" not in closed


@pytest.mark.asyncio
async def test_hostile_text_is_never_markup(tmp_path: Path) -> None:
    """What was typed is shown letter by letter; nothing of it acts on the terminal."""
    async with opened(tmp_path) as there:
        await there.show(TemporaryScreen())
        await there.press("a")
        await there.type_line(f"4; {HOSTILE}; [/; [link]")
        text = await there.scrolled()
        lines = temporary_lines(there.visit.job, 77)
    assert "[bold]x[/]" in text
    assert "[link]" in text
    plain = "".join(line if isinstance(line, str) else line[0][0] for line in lines)
    assert "\x1b" not in plain
    assert "\u202e" not in plain
