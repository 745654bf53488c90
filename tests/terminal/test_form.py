"""Tests of one-line forms: parts between semicolons, the first chosen by number, id or name."""

from collections.abc import Sequence
from pathlib import Path

import pytest
from textual.widgets import Input

from commission.job.bodies import Body
from commission.job.state import Job
from commission.terminal.form import Form, chosen, parts_of
from commission.terminal.screens.temporary import TemporaryScreen
from tests.terminal.prepared import opened

KINDS = {"jumper": "jumper wire", "lifted-wire": "lifted wire", "vent": "vent open"}


def _none(_job: Job, _parts: Sequence[str], _by: str) -> Body:
    raise AssertionError("nothing is made here")


@pytest.mark.parametrize(
    "typed", ["2", "lifted-wire", "Lifted Wire", "LIFTED-WIRE"], ids=["by number", "by id", "by name", "in capitals"]
)
def test_choice_is_taken_by_number_id_or_name(typed: str) -> None:
    """With gloves the number is enough; the words are taken too."""
    assert chosen(KINDS, typed) == "lifted-wire"


@pytest.mark.parametrize("typed", ["0", "4", "wire", "", "-1"])
def test_what_is_no_choice_is_refused_with_the_numbers(typed: str) -> None:
    """Nothing is guessed from half a word; the sentence says which numbers there are."""
    with pytest.raises(ValueError, match="1 to 3"):
        chosen(KINDS, typed)


def test_empty_list_says_so() -> None:
    """Where nothing can be chosen that is the reason."""
    with pytest.raises(ValueError, match="empty"):
        chosen({}, "1")


@pytest.mark.asyncio
async def test_parts_are_counted_and_trimmed(tmp_path: Path) -> None:
    """Spaces around a part do not count; a part too few or too many is refused with an example."""
    form = Form("Say it", ("what", "why"), "1; because", _none, lambda _job: KINDS)
    async with opened(tmp_path, connected=False) as there:
        job = there.visit.job
        assert parts_of(form, job, " 1 ;  to hold it ") == ("jumper", "to hold it")
        for line in ("1", "1; a; b"):
            with pytest.raises(ValueError, match="2 parts, 1 semicolons between them, as: 1; because"):
                parts_of(form, job, line)


@pytest.mark.asyncio
async def test_letters_go_into_the_field_and_are_keys_again_after_escape(tmp_path: Path) -> None:
    """While the form is open no letter opens anything else; Esc closes it, and the next leads back."""
    async with opened(tmp_path, connected=False) as there:
        await there.show(TemporaryScreen())
        await there.press("a", "t", "d", "w")
        field = there.app.screen.query_one("#given", Input)
        typed, focused = field.value, there.app.field_focused
        await there.press("escape")
        after = (there.app.field_focused, bool(field.display))
    assert (typed, focused) == ("tdw", True)
    assert after == (False, False)
