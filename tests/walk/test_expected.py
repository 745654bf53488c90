"""What an answer should be."""

from decimal import Decimal

import pytest

from commission.checklist import Question, load_checklist
from commission.content import checklists_folder
from commission.job.bodies import Answered, StepBegun
from commission.walk.expected import expected, precharge_bar
from tests.walk.visits import Visit


def test_a_field_of_the_sheet_with_its_revision() -> None:
    """Numbers are decimals of the sheet's own text."""
    visit = Visit()
    question = Question(id="x", ask="?", expects="protections.run_limit_s")
    found = expected(visit.job, visit.job.checklist.step("Q1"), question)
    assert found is not None
    assert (found.text, found.number, found.origin) == ("300.0", Decimal("300.0"), "sheet revision D")


def test_nothing_expected_and_a_silent_sheet() -> None:
    """A silent sheet is no expectation, never zero."""
    visit = Visit()
    step = visit.job.checklist.step("Q1")
    assert expected(visit.job, step, Question(id="x", ask="?")) is None
    assert expected(visit.job, step, Question(id="x", ask="?", expects="environment.heater_w")) is None


@pytest.mark.parametrize(("gas_c", "bar"), [(4.0, 89.8), (20.0, 95.0)])
def test_precharge_at_the_gas_temperature(gas_c: float, bar: float) -> None:
    """The invented unit: 95 bar at 20 °C is 89.8 bar at 4 °C (trade guide 10.5, computed there)."""
    assert precharge_bar(95.0, 20.0, gas_c) == pytest.approx(bar, abs=0.05)


def test_precharge_against_a_table() -> None:
    """76.5 bar at 20 °C: 68.6 at −10 °C and 80.5 at 35 °C (trade guide 10.7, computed from the gas law)."""
    assert precharge_bar(76.5, 20.0, -10.0) == pytest.approx(68.6, abs=0.06)
    assert precharge_bar(76.5, 20.0, 35.0) == pytest.approx(80.5, abs=0.06)


def test_the_precharge_waits_for_the_temperature() -> None:
    """Without the gas temperature there is nothing to expect."""
    visit = Visit()
    step = visit.job.checklist.step("G4")
    question = next(question for question in step.questions if question.id == "found")
    assert expected(visit.job, step, question) is None
    visit.record(StepBegun(step="G4"))
    visit.record(Answered(step="G4", question="gas_temperature", text="4", value=4.0, unit="°C"))
    found = expected(visit.job, step, question)
    assert found is not None
    assert found.text == "89.8"
    assert "corrected to 4 °C" in found.origin


def test_two_readings_that_have_to_agree() -> None:
    """The meter is held against the register that was read before it."""
    _, short = load_checklist(checklists_folder() / "one-stroke.toml")
    visit = Visit(checklist=short)
    step = visit.job.checklist.step("I3")
    question = next(question for question in step.questions if question.id == "meter")
    visit.record(StepBegun(step="I3"))
    visit.record(Answered(step="I3", question="register", text="24.37", value=24.37, unit="V"))
    found = expected(visit.job, step, question)
    assert found is not None
    assert found.number == Decimal("24.37")
