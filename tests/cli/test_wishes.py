"""Tests of wishes for practice units: what there is, what is taken, what reaches the unit's process."""

import pytest

from commission.cli.wishes import PracticeWishes
from commission.content import checklists_folder
from commission.practice.setup import setup_of
from commission.sheet import load_sheet
from commission.terminal.wish import Wish
from tests.cli.conftest import SHEET

PCV = checklists_folder() / "units" / "pcv-4410.toml"


def test_what_a_unit_can_have() -> None:
    """Its own scenarios, and the faults it can have: a unit without a link has none of the line."""
    wishes = PracticeWishes()
    assert {"planted-findings", "twelve-months-later"} <= {choice.name for choice in wishes.scenarios(SHEET)}
    names = {choice.name for choice in wishes.faults(SHEET)}
    assert "duplicate-address" in names
    assert "phase-lost" not in names
    assert "duplicate-address" not in {choice.name for choice in wishes.faults(PCV)}


def test_a_wish_becomes_a_set_up() -> None:
    """The same as the command line makes; a seed alone plants nothing; cleared is as the sheet says."""
    wishes = PracticeWishes()
    assert wishes.setup(SHEET) is None
    wishes.take(SHEET, Wish(scenario="the-day", faults=("worn-pump=0.5", "weak-spring=0.2"), seed=4))
    sheet = load_sheet(SHEET)[0]
    assert wishes.setup(SHEET) == setup_of(sheet, "the-day", ["worn-pump=0.5", "weak-spring=0.2"])
    assert wishes.of(SHEET).seed == 4
    assert wishes.of(PCV) == Wish()
    wishes.take(SHEET, Wish(seed=4))
    assert wishes.setup(SHEET) is None
    assert wishes.of(SHEET).seed == 4


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        (Wish(scenario="the-dya"), "did you mean the-day"),
        (Wish(faults=("worn-pump=2",)), "from 0 to 1"),
        (Wish(faults=("phase-lost=1",)), "cannot have"),
    ],
)
def test_what_cannot_be_had_is_refused(wish: Wish, words: str) -> None:
    """And what was chosen before stays."""
    wishes = PracticeWishes()
    wishes.take(SHEET, Wish(scenario="the-day"))
    with pytest.raises(ValueError, match=words):
        wishes.take(SHEET, wish)
    assert wishes.of(SHEET).scenario == "the-day"


def test_what_the_command_line_asked_for_is_there_until_something_else_is_chosen() -> None:
    """Another seed keeps it; a scenario replaces it."""
    asked = setup_of(load_sheet(SHEET)[0], "", ["worn-pump=0.5"])
    wishes = PracticeWishes((SHEET, 9, asked))
    found = wishes.of(SHEET)
    assert found.words == "as asked for on the command line; seed 9"
    wishes.take(SHEET, Wish(seed=2, beside=found.beside))
    assert wishes.setup(SHEET) == asked
    wishes.take(SHEET, Wish(scenario="the-day", beside=found.beside))
    assert wishes.setup(SHEET) == setup_of(load_sheet(SHEET)[0], "the-day")
    assert wishes.of(SHEET).words == "the-day; seed 0"
