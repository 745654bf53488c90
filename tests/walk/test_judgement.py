"""The verdict on one answer."""

from decimal import Decimal

import pytest

from commission.checklist import Question, Step
from commission.figure import Verdict
from commission.walk.expected import Expected
from commission.walk.judgement import judge, limits_in_words
from tests.walk.visits import Visit


@pytest.fixture
def step() -> Step:
    """Any step."""
    return Visit().job.checklist.step("F3")


def _number(**limits: str) -> Question:
    return Question(id="x", ask="Reading?", kind="number", unit="bar", origin="sheet", **limits)  # type: ignore[arg-type]  # all text


@pytest.mark.parametrize(
    ("value", "verdict"),
    [(0.9999999, "fail"), (1.0, "pass"), (2.0, "pass"), (3.0, "pass"), (3.0000001, "fail"), (-1.0, "fail")],
)
def test_limits_include_their_ends(step: Step, value: float, verdict: str) -> None:
    """Judged in decimals, on the value that is printed."""
    assert judge(step, _number(least="1", most="3"), str(value), value, None).verdict == verdict


def test_a_tenth_is_a_tenth(step: Step) -> None:
    """0.1 + 0.2 typed as 0.3 is inside a limit of 0.3: no binary dust decides."""
    assert judge(step, _number(most="0.3"), "0.3", 0.1 + 0.2, None).verdict is Verdict.PASS


@pytest.mark.parametrize(("value", "verdict"), [(85.31, "pass"), (85.30, "fail"), (94.29, "pass"), (94.30, "fail")])
def test_a_tolerance_about_what_is_expected(step: Step, value: float, verdict: str) -> None:
    """±5 % of 89.8."""
    question = Question(id="x", ask="?", kind="number", unit="bar", expects="y.z", within_pct="5", origin="practice")
    expected = Expected("89.8", "sheet", Decimal("89.8"))
    assert judge(step, question, str(value), value, expected).verdict == verdict
    assert limits_in_words(question, expected) == "85.31 to 94.29 bar (sheet; practice)"


@pytest.mark.parametrize(("text", "verdict"), [("EH-40117", "pass"), (" eh-40117", "pass"), ("EH-40118", "fail")])
def test_a_text_is_held_against_the_sheet(step: Step, text: str, verdict: str) -> None:
    """One digit differs and it differs."""
    question = Question(id="x", ask="Serial?", expects="identity.serial")
    assert judge(step, question, text, None, Expected("EH-40117", "sheet")).verdict == verdict


def test_the_first_choice_is_the_good_one(step: Step) -> None:
    """What was required and found is said in words for the deviation."""
    question = Question(id="x", ask="It went?", kind="choice", choices=("home", "nowhere"))
    assert judge(step, question, "home", None, None).verdict is Verdict.PASS
    bad = judge(step, question, "nowhere", None, None)
    assert (bad.verdict, bad.required, bad.found) == (Verdict.FAIL, "F3 It went: home", "F3 It went: nowhere")


def test_what_was_bridged_is_simulated_and_a_lowered_limit_is_not_tested(step: Step) -> None:
    """Safety rule R23: neither is a plain pass."""
    caused = Question(id="x", ask="?", kind="choice", choices=("real", "bridged"), effect="how caused")
    assert judge(step, caused, "real", None, None).verdict is None
    assert judge(step, caused, "bridged", None, None).verdict is Verdict.SIMULATED
    lowered = Question(id="x", ask="?", effect="lowered limit", about="run_limit")
    assert judge(step, lowered, "20 s; 300 s; P. Exampler", None, None).verdict is Verdict.NOT_TESTED


@pytest.mark.parametrize(("text", "verdict"), [("closed to open", "pass"), ("open, closed", "fail")])
def test_the_stem_goes_the_way_of_the_stroke(step: Step, text: str, verdict: str) -> None:
    """An opening ends at open, seen on the stem."""
    question = Question(id="x", ask="?", effect="stem mark", about="open")
    assert judge(step, question, text, None, None).verdict == verdict


def test_a_plain_answer_is_not_judged(step: Step) -> None:
    """A name is a name."""
    assert judge(step, Question(id="x", ask="?"), "Mara", None, None).verdict is None
    assert limits_in_words(Question(id="x", ask="?"), None) == ""


def test_limits_are_said_with_their_origin() -> None:
    """One-sided and two-sided."""
    assert limits_in_words(_number(least="1"), None) == "at least 1 bar (sheet)"
    assert limits_in_words(_number(most="3"), None) == "at most 3 bar (sheet)"
    shown = limits_in_words(Question(id="x", ask="?", unit="s"), Expected("300.0", "sheet", Decimal(300)))
    assert shown == "300.0 s (sheet)"
