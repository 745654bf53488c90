"""What the walk shows: the phases, what was just done, the step with its caution first; wrapped for every width."""

from pathlib import Path

import pytest

from commission.terminal.widgets.walk_pane import NEWS, WalkPane
from tests.terminal.walking import walking


@pytest.mark.asyncio
@pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=["80x24", "120x40"])
async def test_a_step_stands_with_its_caution_first(tmp_path: Path, size: tuple[int, int]) -> None:
    """Title, then the caution, then what to do; the phases beside it."""
    async with walking(tmp_path, size) as there:
        await there.start()
        await there.sees("A3")
        text = there.text
        places = [text.index(words) for words in ("A3 Enter the gauge", "NOTICE", "Do ")]
        assert places == sorted(places)
        assert "A papers and p" in text
        assert ("papers and people" in text) is (size[0] >= 110)


@pytest.mark.asyncio
async def test_words_that_belong_to_no_step_are_wrapped_whole(tmp_path: Path) -> None:
    """What is said before the walk: no line is broken within a word, none begins with a lost one."""
    async with walking(tmp_path, (80, 24)) as there:
        await there.start(checked=False)
        pane = there.app.walk.query_one(WalkPane)
        words = "one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen"
        pane.show_words("Before", [words])
        await there.sees("thirteen fourteen fifteen")
        lines = [line.split("│", 1)[1].strip() for line in there.text.splitlines() if "│" in line]
        first = next(place for place, line in enumerate(lines) if line.startswith("one two"))
        assert " ".join(lines[first : first + 3]).strip() == words
        assert len(lines[first]) > pane.columns - 12


@pytest.mark.asyncio
async def test_the_last_pieces_of_news_stay_until_they_are_forgotten(tmp_path: Path) -> None:
    """The newest last; what is old goes with the next."""
    async with walking(tmp_path, (120, 40)) as there:
        await there.start()
        pane = there.app.walk.query_one(WalkPane)
        for number in range(NEWS + 2):
            pane.tell(f"piece {number} of [b]news[/b]")
        await there.sees(f"piece {NEWS + 1} of [b]news[/b]")
        assert "piece 1 of" not in there.text
        assert "piece 2 of" in there.text
        pane.forget_news()
        pane.tell("the next")
        await there.sees("the next")
        assert "piece" not in there.text
