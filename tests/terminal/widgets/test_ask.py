"""The foot of the walk."""

import pytest
from textual.app import App, ComposeResult
from textual.widgets import Static

from commission.terminal.theme import DARK
from commission.terminal.widgets.ask import AskPane


class Asked(App[None]):
    """One pane."""

    def compose(self) -> ComposeResult:
        """The pane."""
        yield AskPane()


def shown(pane: AskPane, name: str) -> str:
    """The text of one of its parts."""
    return str(pane.query_one(f"#{name}", Static).render())


def typed(pane: AskPane) -> bool:
    """Whether there is a field, as of now."""
    return pane.takes_typing


@pytest.mark.asyncio
async def test_a_question_takes_the_place_of_the_one_before() -> None:
    """Its field is empty, and there only where something is typed."""
    app = Asked()
    app.register_theme(DARK)
    app.theme = DARK.name
    async with app.run_test(size=(60, 20)) as pilot:
        pane = app.query_one(AskPane)
        assert not typed(pane)
        pane.ask(["[b]How much[/b]?"], "a number", typed=True, refuses_paste=True)
        pane.field.value = "12,5"
        pane.understand("= 12.5 bar")
        pane.say("[i]not taken")
        await pilot.pause()
        assert typed(pane)
        assert pane.field.refuses_paste
        assert "[b]How much[/b]?" in shown(pane, "question")
        assert "[i]not taken" in shown(pane, "problem")
        pane.ask(["Ready?"], "Enter", typed=False)
        await pilot.pause()
        assert not typed(pane)
        assert (pane.field.value, shown(pane, "understood"), pane.field.refuses_paste) == ("", "", False)
        assert "[i]not taken" in shown(pane, "problem"), "why the same is asked again stays"
