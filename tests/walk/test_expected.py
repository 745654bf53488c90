"""What an answer should be."""

from decimal import Decimal

import pytest

from commission.checklist import Question, load_checklist
from commission.content import checklists_folder
from commission.job.bodies import Answered, StepBegun
from commission.walk.expected import Expected, expected
from commission.walk.judgement import limits_in_words
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


@pytest.mark.parametrize(
    ("gas_c", "bar", "ideal"), [("4", "88.6", "89.8"), ("-20", "78.9", "81.9"), ("45", "105.0", "103.2")]
)
def test_precharge_at_the_gas_temperature(gas_c: str, bar: str, ideal: str) -> None:
    """95 bar at 20 °C as real nitrogen (held against CoolProp in tests/published), the ideal gas's number beside it."""
    found = precharge_at(gas_c)
    assert (found.text, found.beside) == (bar, f"ideal gas {ideal}")
    assert found.number == Decimal(bar)
    assert "real nitrogen" in found.origin


def test_at_the_sheets_own_temperature_the_laws_agree() -> None:
    """Nothing to say beside it."""
    found = precharge_at("20")
    assert (found.text, found.beside) == ("95.0", "")


def test_a_gas_temperature_of_no_place_on_earth() -> None:
    """Beyond the gas equation the simple law answers, and says so: the finding is the temperature."""
    assert "ideal gas" in precharge_at("-120").origin


def precharge_at(gas_c: str) -> Expected:
    """What step G4 expects at a gas temperature."""
    visit = Visit()
    step = visit.job.checklist.step("G4")
    question = next(question for question in step.questions if question.id == "found")
    visit.record(StepBegun(step="G4"))
    visit.record(Answered(step="G4", question="gas_temperature", text=gas_c, value=float(gas_c), unit="°C"))
    found = expected(visit.job, step, question)
    assert found is not None
    return found


def test_a_setting_stands_beside_its_proposal() -> None:
    """The slowest legitimate stroke asks for it; a unit set to the warm stroke would be seen here."""
    visit = Visit()
    step = visit.job.checklist.step("Q1")
    found = expected(visit.job, step, Question(id="x", ask="?", unit="s", expects="protections.run_limit_s"))
    assert found is not None
    assert found.beside == "proposed 289 to 385: agrees"
    assert "proposed" in limits_in_words(Question(id="x", ask="?", unit="s", expects="protections.run_limit_s"), found)
    other = expected(visit.job, step, Question(id="x", ask="?", expects="protections.starts_window_min"))
    assert other is not None
    assert other.beside == ""


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
    assert found.text == "88.6"
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
