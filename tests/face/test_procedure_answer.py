"""A procedure's own question: numbers as people write them, yes and no, words; what is none of it is asked again."""

import pytest

from commission.face.procedure_answer import answer_of, how_to_answer, number_understood
from commission.procedures.requests import Ask

CURRENT = Ask("at 25", "What does the calibrator show?", "number", "mA")


@pytest.mark.parametrize(("text", "value"), [("12,5", 12.5), ("12.5 mA", 12.5), ("0.0125 A", 12.5), ("8", 8.0)])
def test_a_number_is_taken_in_the_unit_asked_for(text: str, value: float) -> None:
    """With the text as typed, who said it and when."""
    answer = answer_of(CURRENT, text, "Tess", 7)
    assert answer.value == pytest.approx(value)
    assert (answer.id, answer.text, answer.by, answer.at_ns) == ("at 25", text, "Tess", 7)
    assert number_understood(CURRENT, text) == f"{value:g} mA"


@pytest.mark.parametrize("text", ["", "much", "12 bar"])
def test_what_is_no_number_is_said(text: str) -> None:
    """And nothing is understood."""
    with pytest.raises(ValueError, match=r"\w"):
        answer_of(CURRENT, text, "Tess", 0)
    assert number_understood(CURRENT, text) == ""


def test_yes_and_no_are_one_letter_or_a_word() -> None:
    """Anything else is asked again."""
    question = Ask("seen", "Has the lamp come on?", "yes")
    assert answer_of(question, "Y", "Tess", 0).text == "yes"
    assert answer_of(question, "no", "Tess", 0).text == "no"
    with pytest.raises(ValueError, match="Y for yes"):
        answer_of(question, "perhaps", "Tess", 0)
    assert "Y for yes" in how_to_answer(question)


def test_a_go_is_its_own_key_and_nothing_else() -> None:
    """Enter alone never moves a valve, nor does yes (safety rule R13)."""
    question = Ask("go", "Hands out of the yoke?", "go")
    assert answer_of(question, "M", "Tess", 0).text == "go"
    for text in ("", "y", "g"):
        with pytest.raises(ValueError, match="M lets it move on"):
            answer_of(question, text, "Tess", 0)


def test_any_key_is_any_key() -> None:
    """Even one that types nothing."""
    question = Ask("cancel", "Any key cancels.", "key")
    assert answer_of(question, "", "Tess", 0).text == "a key"
    assert how_to_answer(question) == "any key"


def test_words_are_kept_and_nothing_is_no_answer() -> None:
    """An empty line answers nothing."""
    question = Ask("seen", "What do you see?")
    assert answer_of(question, " dry ", "Tess", 0).text == "dry"
    with pytest.raises(ValueError, match="nothing was typed"):
        answer_of(question, "  ", "Tess", 0)
    assert "in mA" in how_to_answer(CURRENT)
    assert number_understood(question, "5") == ""
