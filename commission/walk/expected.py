"""
What the answer to a question should be: a field of the sheet, or a value computed from it and from earlier answers.

A reading with no expectation is not a test; each expectation says where it comes from.
"""

from collections.abc import Callable, Mapping
from decimal import Decimal

import msgspec

from commission.checklist import Question, Step
from commission.job.state import Job
from commission.job.steps import StepState
from commission.walk.conditions import field

ATMOSPHERE_BAR = 1.01325
"""Standard atmosphere, to make gauge pressure absolute (ISO 2533)."""

KELVIN_AT_0_C = 273.15
GAS_TEMPERATURE = "gas_temperature"
"""Id of the question whose answer, in °C, the precharge is corrected to."""


ANSWER = "answer."
"""An `expects` that begins so names an earlier question of the same step: two readings that have to agree."""


class Expected(msgspec.Struct, frozen=True):
    """
    What an answer should be.

    Args:
        text: As it is shown and compared.

        origin: Where it comes from.

        number: As a number, where it is one, in the unit of the question.
    """

    text: str
    origin: str
    number: Decimal | None = None


def expected(job: Job, step: Step, question: Question) -> Expected | None:
    """
    What the sheet, or a computation from it, says of this answer; None where it is silent or nothing is expected.

    Raises:
        KeyError: `expects` is no field of a sheet and no known computation.
    """
    if not question.expects:
        return None
    computation = COMPUTED.get(question.expects)
    if computation is not None:
        return computation(job, step)
    if question.expects.startswith(ANSWER):
        earlier = _answered(job, step, question.expects.removeprefix(ANSWER))
        return None if earlier is None else Expected(f"{earlier:g}", "the other reading", Decimal(f"{earlier:.12g}"))
    value = field(question.expects, job.sheet)
    if value is None or value == "":
        return None
    number = Decimal(str(value)) if isinstance(value, int | float) and not isinstance(value, bool) else None
    return Expected(str(value), f"sheet revision {job.sheet.revision}", number)


def precharge_bar(at_20_c_bar: float, sheet_c: float, gas_c: float) -> float:
    """
    Gauge precharge of nitrogen at another gas temperature, in bar: constant volume, ideal gas.

    Args:
        at_20_c_bar: Gauge pressure that the sheet gives.

        sheet_c: Gas temperature the sheet gives it at, °C.

        gas_c: Gas temperature now, °C.

    Source: Gay-Lussac's law on absolute pressure and temperature (textbook).
    """
    ratio = (gas_c + KELVIN_AT_0_C) / (sheet_c + KELVIN_AT_0_C)
    return (at_20_c_bar + ATMOSPHERE_BAR) * ratio - ATMOSPHERE_BAR


def _precharge(job: Job, step: Step) -> Expected | None:
    accumulator = job.sheet.accumulator
    gas_c = _answered(job, step, GAS_TEMPERATURE)
    if accumulator is None or gas_c is None:
        return None
    bar = precharge_bar(accumulator.precharge_bar, accumulator.precharge_at_c, gas_c)
    origin = (
        f"{accumulator.precharge_bar:g} bar at {accumulator.precharge_at_c:g} °C (sheet), corrected to {gas_c:g} °C"
    )
    return Expected(f"{bar:.1f}", origin, Decimal(f"{bar:.1f}"))


def _answered(job: Job, step: Step, question: str) -> float | None:
    last = job.steps.get(step.id, StepState()).last
    given = None if last is None else last.answers.get(question)
    return None if given is None else given.answered.value


COMPUTED: Mapping[str, Callable[[Job, Step], Expected | None]] = {"computed.precharge_bar": _precharge}
"""Computations that `expects` may name."""
