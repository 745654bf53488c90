"""Tests of the isolation screen: locks with owner and time, volumes with gauge and bleed, what is still missing."""

from pathlib import Path

import pytest

from commission.energy import missing
from commission.job import bodies
from commission.terminal.screens.isolation import IsolationScreen, isolation_lines
from tests.terminal.prepared import HOSTILE, Shown, flat, opened
from tests.visiting import TESS


def record_lock(there: Shown, number: str) -> None:
    """Everything up to and with the first lock, whose tag says `number`."""
    visit = there.visit
    visit.record(bodies.EnergyBegun(target="locked"), TESS)
    for _ in range(20):
        need = missing(visit.job.energy_log.now, visit.job.sheet)[0]
        said: dict[str, dict[str, object]] = {
            "names": {"text": "Mara Mockford"},
            "count": {"count": 4},
            "lock": {"number": number},
            "place": {"how": "fail position", "stem_mark": "closed"},
        }
        details = said.get(need.ask, {})
        visit.record(bodies.EnergyProved(fact=need.fact, subject=need.subject, details=details), TESS)
        if need.ask == "lock":
            return
    raise AssertionError("no lock was asked for")


@pytest.mark.asyncio
async def test_locks_and_volumes_have_names_owners_and_times(tmp_path: Path) -> None:
    """Every source with its device, every volume with gauge and bleed, and the last that was seen of it."""
    async with opened(tmp_path) as there:
        text = await there.show(IsolationScreen())
        text += await there.scrolled()
    assert "isolator IS-1101M" in text
    assert "no lock" in text
    assert "gauge PG-1, bleed BV-1" in text
    assert "Tess Placeholder, 06:4" in text
    assert "in an earlier crossing" in flat(text)
    assert "contained, still loaded" in text
    assert "loop-24v" not in text, "an id is no name"


@pytest.mark.asyncio
async def test_lock_that_is_on_is_shown_and_what_is_missing(tmp_path: Path) -> None:
    """In a crossing the lock's number, owner and time stand beside its source, and what is missing stands above."""
    async with opened(tmp_path) as there:
        await there.show(IsolationScreen())
        record_lock(there, "L-07")
        text = await there.until("lock L-07, Tess Placeholder")
        whole = await there.scrolled()
    assert "Next for locked: Read cylinder oil (PG-1) above zero" in text
    assert "Locks: 1 on, 7 sources" in text
    assert "Still missing for locked: 23" in whole


@pytest.mark.asyncio
async def test_hostile_tag_is_shown_as_it_is(tmp_path: Path) -> None:
    """Markup on a lock's tag is text, and control characters are made visible."""
    async with opened(tmp_path) as there:
        await there.show(IsolationScreen())
        record_lock(there, HOSTILE)
        lines = isolation_lines(there.visit.job, 77)
        await there.until("Locks: 1 on")
        text = await there.scrolled()
    joined = "\n".join(line for line in lines if isinstance(line, str))
    assert "[bold]x[/]" in text
    assert "\x1b" not in joined
    assert "\u202e" not in joined
    assert max(len(line) for line in joined.splitlines()) <= 77
