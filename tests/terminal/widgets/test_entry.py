"""The line without focus: printable keys and backspace, never a blank, never what is not for it."""

import pytest
from textual.app import App, ComposeResult
from textual.events import Key

from commission.terminal.widgets.entry import Entry


class Shown(App[None]):
    """One entry."""

    def compose(self) -> ComposeResult:
        """It alone."""
        yield Entry(id="entry")


@pytest.mark.asyncio
async def test_keys_are_collected_while_it_is_open() -> None:
    """A closed one takes nothing; the focus is nowhere."""
    async with Shown().run_test() as pilot:
        entry = pilot.app.query_one(Entry)
        entry.close()
        assert not entry.take(Key("1", "1"))
        entry.open()
        assert all(entry.take(Key(letter, letter)) for letter in "12,5")
        assert not entry.take(Key("space", " "))
        assert not entry.take(Key("enter", "\r"))
        assert entry.take(Key("backspace", None))
        assert entry.value == "12,"
        assert pilot.app.focused is None
        entry.close()
        assert entry.value == ""
