"""Tests of help: one key away, the screen's own lines first, every screen has some."""

import importlib
import pkgutil
from pathlib import Path

import pytest

from commission.terminal import screens
from commission.terminal.frame import Frame
from commission.terminal.screens.help import HERE, HelpScreen, help_lines
from commission.terminal.screens.temporary import TemporaryScreen
from tests.terminal.prepared import opened


def every_screen() -> set[str]:
    """Names of all screens of the app."""
    found: set[str] = set()
    for module in pkgutil.iter_modules(screens.__path__):
        loaded = importlib.import_module(f"{screens.__name__}.{module.name}")
        found |= {
            name
            for name, thing in vars(loaded).items()
            if isinstance(thing, type) and issubclass(thing, Frame) and thing.__module__ == loaded.__name__
        }
    return found


def test_every_screen_has_help_of_its_own() -> None:
    """No screen is without a few lines, and no lines are without a screen; help itself needs none."""
    assert every_screen() - {"HelpScreen"} == set(HERE)


@pytest.mark.parametrize("name", sorted(HERE))
def test_help_begins_with_the_screen_it_was_asked_from(name: str) -> None:
    """Its title is the first line, nothing is wider than the page, and R28 is said."""
    lines = help_lines(name, 77)
    assert lines[0] == ((HERE[name].title, "bold"),)
    assert all(len(line) <= 77 for line in lines if isinstance(line, str))
    assert "not a safety system" in " ".join(line for line in lines if isinstance(line, str))


@pytest.mark.asyncio
async def test_question_mark_shows_it_and_escape_goes_back(tmp_path: Path) -> None:
    """? on the temporary list shows that list's help; Esc is back where it was asked."""
    async with opened(tmp_path) as there:
        await there.show(TemporaryScreen())
        text = await there.press("question_mark")
        whole = await there.scrolled()
        await there.press("escape")
        back = there.app.screen
    assert "THE TEMPORARY LIST" in text
    assert "GAS ALARM" in whole
    assert isinstance(back, TemporaryScreen)


@pytest.mark.asyncio
async def test_help_opens_only_once(tmp_path: Path) -> None:
    """? on help leads back rather than deeper."""
    async with opened(tmp_path) as there:
        await there.show(TemporaryScreen())
        await there.press("question_mark")
        await there.press("question_mark")
        assert not isinstance(there.app.screen, HelpScreen)
