"""Tests of the deviations screen: raised, accepted by name, adjusted with what becomes void shown before."""

from pathlib import Path

import pytest

from commission.terminal.screens.deviations import DeviationsScreen, deviation_lines, named_step, would_void_words
from tests.terminal.prepared import HOSTILE, flat, opened


@pytest.mark.asyncio
async def test_deviation_shows_found_required_class_and_step(tmp_path: Path) -> None:
    """A deviation names the step by its title and its class in words."""
    async with opened(tmp_path) as there:
        text = await there.show(DeviationsScreen())
    assert "found: drawing revision C on site" in text
    assert "required: drawing revision D" in text
    assert "A, before start-up" in text
    assert "K1-open Time the opening stroke" in text


@pytest.mark.asyncio
async def test_what_becomes_void_is_shown_before_it_is_recorded(tmp_path: Path) -> None:
    """J and a line show the steps that become void; nothing is recorded until Enter, and then they are void."""
    async with opened(tmp_path) as there:
        await there.show(DeviationsScreen())
        form = await there.press("j")
        asked = await there.type_line("1; from 2 to 1¾ turns")
        before = len(there.visit.job.contact.adjustments)
        done = await there.press("enter")
        after = len(there.visit.job.contact.adjustments)
    assert "1 limit cam" in form
    assert "K1-close Time the closing stroke" in flat(asked)
    assert "Enter records it" in flat(asked)
    assert (before, after) == (0, 1)
    assert "Void, to be repeated" in done
    assert "limit cam: from 2 to 1¾ turns" in done


@pytest.mark.asyncio
async def test_escape_records_no_adjustment(tmp_path: Path) -> None:
    """Esc after what would become void leaves everything as it was."""
    async with opened(tmp_path) as there:
        await there.show(DeviationsScreen())
        await there.press("j")
        await there.type_line("limit cam; moved by 2 mm")
        await there.press("escape")
        job = there.visit.job
    assert not job.contact.adjustments
    assert not any(state.last and state.last.voided_by for state in job.steps.values())


@pytest.mark.asyncio
async def test_deviation_is_added_and_accepted_by_name(tmp_path: Path) -> None:
    """A adds with its class; C takes the owner's name and reason, and it cannot be accepted twice."""
    async with opened(tmp_path) as there:
        await there.show(DeviationsScreen())
        await there.press("a")
        await there.type_line("C; tag plate; tag plate scratched")
        await there.press("c")
        accepted = await there.type_line("2; P. Exampler; plate on order")
        await there.press("c")
        again = await there.type_line("D2; P. Exampler; plate on order")
        raised = there.visit.job.deviations["D2"]
    assert raised.raised.classed == "C"
    assert "accepted by P. Exampler: plate on order" in accepted
    assert "not in the list" in again


@pytest.mark.asyncio
async def test_hostile_text_is_never_markup(tmp_path: Path) -> None:
    """What somebody found is shown letter by letter."""
    async with opened(tmp_path) as there:
        await there.show(DeviationsScreen())
        await there.press("a")
        await there.type_line(f"B; [/; {HOSTILE}")
        text = await there.scrolled()
        lines = deviation_lines(there.visit.job, 77)
    assert "[bold]x[/]" in text
    assert "<U+202E>" in text
    assert "\x1b" not in "".join(line if isinstance(line, str) else line[0][0] for line in lines)


@pytest.mark.asyncio
async def test_nothing_done_makes_nothing_void(tmp_path: Path) -> None:
    """Where none of the steps was done the sentence says that nothing becomes void; ids get their titles."""
    async with opened(tmp_path, connected=False) as there:
        job = there.visit.job
        assert named_step(job, "K1-open") == "K1-open Time the opening stroke"
        words = would_void_words(job, ("closed-limit", "a turn"))
    assert words.startswith("limit cam (a turn) makes void")
