"""Tests of the events screen: what changed and what was sent, the newest first."""

from pathlib import Path

import pytest

from commission.job.bodies import BitsChanged
from commission.terminal.screens.sequence import SHOWN_AT_MOST, SequenceScreen, sequence_lines
from tests.report.jobs import Visit
from tests.terminal.prepared import opened


def changes(visit: Visit, count: int) -> Visit:
    """The selector is turned to and fro, once a second."""
    for number in range(count):
        at_ns = number * 1_000_000_000
        turned = {"remote": (1 - number % 2, number % 2)}
        visit.add(BitsChanged(run="", changes=turned, after_ns=at_ns, by_ns=at_ns + 40_000_000), by="unit")
    return visit


def text_of(visit: Visit, width: int = 78) -> list[str]:
    """The page as plain lines."""
    return [
        line if isinstance(line, str) else "".join(piece for piece, _ in line)
        for line in sequence_lines(visit.job, width)
    ]


def test_nothing_yet_is_said() -> None:
    """An empty page says that it is empty."""
    assert text_of(Visit()) == ["Nothing has changed yet, and nothing was sent."]


def test_newest_stands_first_and_nothing_is_too_wide() -> None:
    """Three turns of the selector: the third is on top."""
    lines = text_of(changes(Visit(), 3))
    assert lines[0].startswith("3 events, the newest first")
    assert lines[1].split()[0] == "3"
    assert max(len(line) for line in lines) <= 78


def test_very_many_are_counted_rather_than_drawn() -> None:
    """The screen stays quick; what it leaves out, it says."""
    lines = text_of(changes(Visit(), SHOWN_AT_MOST + 2))
    assert lines[-1].startswith("2 older ones are in the report")


@pytest.mark.asyncio
async def test_key_opens_it_and_a_new_event_appears_by_itself(tmp_path: Path) -> None:
    """V shows it beside the walk; what happens meanwhile is added."""
    async with opened(tmp_path) as there:
        await there.show(SequenceScreen())
        await there.press("t")
        before = await there.press("v")
        assert "events, the newest first" in before
        span = {"after_ns": there.visit.clock.unit_ns(), "by_ns": there.visit.clock.unit_ns() + 1}
        there.visit.record(BitsChanged(run="", changes={"low_fluid": (0, 1)}, **span), "unit")
        await there.pilot.pause(1.3)
        assert "fluid: enough to low" in await there.scrolled()
