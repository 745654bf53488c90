"""The field that answers are typed into (safety rule R13)."""

import pytest
from textual import events
from textual.app import App, ComposeResult

from commission.terminal.widgets.answer import LEAST_S, AnswerField


class Fielded(App[None]):
    """One field, timed by the test."""

    now_s = 0.0

    def compose(self) -> ComposeResult:
        """The field."""
        yield AnswerField(lambda: self.now_s, id="answer")


def at_once(field: AnswerField) -> bool:
    """Whether what stands there came at once, as of now."""
    return field.came_at_once


@pytest.mark.asyncio
async def test_r13_a_paste_is_refused_only_where_a_movement_is_confirmed() -> None:
    """Elsewhere a serial number may well be pasted."""
    app = Fielded()
    async with app.run_test() as pilot:
        field = app.query_one(AnswerField)
        field.focus()
        field.refuses_paste = True
        field.post_message(events.Paste("4 1101 Mara"))
        await pilot.pause()
        assert field.value == ""
        field.refuses_paste = False
        field.post_message(events.Paste("4 1101 Mara"))
        await pilot.pause()
        assert field.value == "4 1101 Mara"


@pytest.mark.asyncio
async def test_r13_a_paste_that_looks_like_keys_came_at_once() -> None:
    """A person needs longer, counted from the first key; emptied, it counts anew."""
    app = Fielded()
    async with app.run_test() as pilot:
        field = app.query_one(AnswerField)
        field.focus()
        assert not at_once(field)
        await pilot.press("4", "1")
        assert at_once(field)
        app.now_s = LEAST_S * 2
        assert not at_once(field)
        field.empty()
        assert (field.value, at_once(field)) == ("", False)
        await pilot.press("4", "1")
        assert at_once(field)
