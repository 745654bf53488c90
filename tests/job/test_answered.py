"""Tests of figures computed from what people typed."""

from collections.abc import Mapping

import msgspec
import pytest

from commission.checklist import Computed, Question, Step
from commission.job.answered import COMPUTATIONS, answers_of, compute
from commission.job.bodies import Answered
from commission.job.steps import Attempt, GivenAnswer

F3 = Step(
    id="F3",
    title="Insulation",
    state="locked",
    do="Measure.",
    cautions=("insulation-test",),
    questions=(
        Question(id="insulation", ask="Lowest", kind="number", unit="megaohm"),
        Question(id="winding", ask="Temperature", kind="number", unit="°C"),
    ),
    computes=(Computed(figure="insulation_at_40_c", least="1000000", origin="IEC 60204-1"),),
)


def attempt(values: Mapping[str, float]) -> Attempt:
    """An attempt at the step in which these numbers were given."""
    given = {
        name: GivenAnswer(Answered(step="F3", question=name, text=f"{value:g}", value=value), "J.", "")
        for name, value in values.items()
    }
    return Attempt(begun_n=1, at_utc="", by="J.", answers=given)


def test_insulation_at_forty_degrees_from_two_answers() -> None:
    """500 MΩ at 25 °C are 177 MΩ (IEEE 43, from memory): judged at the limit, with what its temperature leaves."""
    answers = answers_of(F3, attempt({"insulation": 500.0, "winding": 25.0}))
    assert answers == {"insulation": "500000000", "winding": "25"}
    found = compute(F3, answers)
    assert found is not None
    assert found.runs == ()
    assert found.answers == answers
    assert found.figures[0].unrounded == pytest.approx(176.8e6, rel=1e-3)
    assert "own error is not in it" in found.figures[0].note
    assert found.results[0].verdict == "pass"
    assert found.results[0].origin == "IEC 60204-1"


def test_a_damp_cable_fails_at_forty_degrees_though_it_reads_well_in_the_cold() -> None:
    """2 MΩ at 5 °C are 0.18 MΩ."""
    found = compute(F3, answers_of(F3, attempt({"insulation": 2.0, "winding": 5.0})))
    assert found is not None
    assert found.results[0].verdict == "fail"


def test_without_an_answer_nothing_is_computed() -> None:
    """Nor from a resistance that is none, nor where the step asks for nothing."""
    assert compute(F3, answers_of(F3, attempt({"insulation": 500.0}))) is None
    assert compute(F3, answers_of(F3, attempt({"insulation": 0.0, "winding": 20.0}))) is None
    assert compute(msgspec.structs.replace(F3, computes=()), {"insulation": "1", "winding": "1"}) is None


def test_three_volts_and_a_sag() -> None:
    """480, 476 and 472 V: 0.84 %; 0.9 V at 19.6 A: 46 mΩ; without limits nothing is judged."""
    volts = {"volts_12": "480", "volts_23": "476", "volts_31": "472"}
    step = msgspec.structs.replace(F3, computes=(Computed(figure="voltage_unbalance"),))
    found = compute(step, volts)
    assert found is not None
    assert found.figures[0].unrounded == pytest.approx(0.008403, abs=1e-6)
    assert found.results == ()
    sag = msgspec.structs.replace(F3, computes=(Computed(figure="source_resistance"),))
    loaded = compute(sag, {"volts_rest": "26", "volts_loaded": "25.1", "load": "19.6"})
    assert loaded is not None
    assert loaded.figures[0].unrounded == pytest.approx(0.0459, abs=1e-4)


def test_every_computation_is_named_for_its_figure() -> None:
    """So that a checklist can name it."""
    for name, computation in COMPUTATIONS.items():
        found = computation.figure(*([20.0] * (len(computation.needs) - 1)), 10.0)
        assert found.name == name
