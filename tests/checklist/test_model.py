"""Tests of the parts of a checklist: questions that can be answered and judged."""

from typing import Any

import pytest

from commission.checklist import Access, Question, SignalWord
from tests.checklist.small import small

LIMITS = {"kind": "number", "origin": "sheet"}


def refusal(**fields: Any) -> str:
    """Why this question is refused."""
    with pytest.raises(ValueError) as refused:  # noqa: PT011  # the words are what is tested
        Question(id="q", ask="How far?", **fields)
    return str(refused.value)


def test_a_limit_has_an_origin() -> None:
    """A limit that nobody can trace is refused."""
    assert "its origin" in refusal(kind="number", least="1")
    assert "its origin" in refusal(kind="number", most="1")
    assert "its origin" in refusal(kind="number", within_pct="1", expects="identity.serial")


@pytest.mark.parametrize("text", ["abc", "1,5", "nan", "inf", "0x10", "1 mm"])
@pytest.mark.parametrize("name", ["least", "most"])
def test_a_limit_is_a_decimal_number(name: str, text: str) -> None:
    """What the decision could not work with is refused while the checklist is written."""
    assert f"{name} as a number in quotes" in refusal(**LIMITS, **{name: text})


def test_limits_are_in_order_and_on_numbers() -> None:
    """The lower is the lower; a text, a choice and a person have none."""
    assert "least ≤ most" in refusal(**LIMITS, least="2", most="1")
    assert Question(id="q", ask="?", kind="number", origin="sheet", least="1", most="1").most == "1"
    for kind in ("text", "person"):
        assert "only where the answer is a number" in refusal(kind=kind, origin="sheet", least="1")


def test_percent_need_something_to_be_percent_of() -> None:
    """A tolerance in percent stands on an expected value."""
    assert "in expects" in refusal(kind="number", origin="sheet", within_pct="5")


def test_choices_belong_to_a_choice_and_differ() -> None:
    """A choice lists what there is to choose, nothing else does, and no two are the same."""
    assert "only where, kind is choice" in refusal(kind="choice")
    assert "only where, kind is choice" in refusal(kind="text", choices=("a", "b"))
    assert "differ" in refusal(kind="choice", choices=("a", "a"))


def test_a_measured_question_names_its_role() -> None:
    """What is read from the unit is read by role."""
    assert "kind is measured" in refusal(kind="measured")
    assert "kind is measured" in refusal(kind="number", role="travel")


def test_a_step_knows_its_phase_and_a_checklist_its_steps() -> None:
    """The letter is the phase; an id that is not there is a KeyError."""
    checklist = small()
    assert checklist.step("K1-close").phase == "K"
    assert checklist.step("H2").access is Access.INSIDE
    with pytest.raises(KeyError):
        checklist.step("K1")


def test_signal_words_are_those_of_the_standard_in_order() -> None:
    """DANGER, WARNING, CAUTION, NOTICE (ANSI Z535.4; from memory)."""
    assert [str(word) for word in SignalWord] == ["DANGER", "WARNING", "CAUTION", "NOTICE"]
