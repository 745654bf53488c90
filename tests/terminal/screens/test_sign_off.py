"""Tests of the sign-off screen: what blocks, what settles it, who signed."""

from pathlib import Path

import pytest

from commission.terminal.screens.sign_off import SignOffScreen, sign_off_lines
from commission.walk.sign_off import blockers
from tests.terminal.prepared import opened


@pytest.mark.asyncio
async def test_every_blocker_is_there_with_what_settles_it(tmp_path: Path) -> None:
    """All that the walk holds against signing is on the page, the temporary list first, each with what to do."""
    async with opened(tmp_path) as there:
        text = await there.show(SignOffScreen())
        against = blockers(there.visit.job, there.visit.clock.utc())
        lines = [
            line for line in sign_off_lines(there.visit.job, there.visit.clock.utc(), 300) if isinstance(line, str)
        ]
    assert f"{len(against)} things block signing" in text
    assert "Still on: wire" in text.splitlines()[2]
    for refusal in against:
        assert any(refusal.reason in line for line in lines)
        assert any(refusal.instead in line for line in lines)


@pytest.mark.asyncio
async def test_who_has_signed_what_and_how(tmp_path: Path) -> None:
    """A signature stands with name, role, time, how it was given, and its own statement."""
    async with opened(tmp_path) as there:
        await there.show(SignOffScreen())
        text = await there.scrolled()
    assert "Signed: 1" in text
    assert "Tess Placeholder, technician" in text
    assert "I did what is recorded" in text


@pytest.mark.asyncio
async def test_key_opens_it_and_escape_leads_back(tmp_path: Path) -> None:
    """E shows it from another screen beside the walk."""
    async with opened(tmp_path) as there:
        await there.show(SignOffScreen())
        await there.press("t")
        text = await there.press("e")
    assert "block signing" in text
