"""The text of a step: signal words in colour, everything reachable by keys."""

import pytest
from textual.app import App, ComposeResult

from commission.terminal.theme import DARK
from commission.terminal.widgets.step_text import SIGNAL_WORDS, StepText, coloured


class Texted(App[None]):
    """One text."""

    def compose(self) -> ComposeResult:
        """The text."""
        yield StepText()


def more(text: StepText) -> bool:
    """Whether something is below, as of now."""
    return text.more


def test_each_signal_word_has_its_colour_and_stays_a_word() -> None:
    """Colour never says what a word does not; brackets are no markup."""
    lines = [*(f"{word}  [b]hot[/b]" for word in SIGNAL_WORDS), "Do  it"]
    content = coloured(lines)
    assert content.plain == "\n".join(lines)
    assert len(content.spans) == len(SIGNAL_WORDS)
    assert set(SIGNAL_WORDS.values()) <= set(DARK.variables)


@pytest.mark.asyncio
async def test_what_does_not_fit_is_read_page_by_page() -> None:
    """One line is kept in sight from page to page; at the end there is no more."""
    app = Texted()
    app.register_theme(DARK)
    app.theme = DARK.name
    async with app.run_test(size=(40, 10)) as pilot:
        text = app.query_one(StepText)
        text.show(["one"])
        await pilot.pause()
        assert not more(text)
        text.show([str(number) for number in range(25)])
        await pilot.pause()
        assert more(text)
        pages = 0
        while more(text):
            text.read_on()
            await pilot.pause()
            pages += 1
        assert pages == 2
        text.read_back()
        await pilot.pause()
        assert more(text)
