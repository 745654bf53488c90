"""
What the answer to a question should be: a field of the sheet, or a value computed from it and from earlier answers.

A reading with no expectation is not a test; each expectation says where it comes from.
"""

from collections.abc import Callable, Mapping
from decimal import Decimal

import msgspec

from commission.checklist import Question, Step
from commission.engineering.accumulator import ideal_precharge_pa
from commission.engineering.drive import PA_PER_BAR
from commission.engineering.expectation import plain
from commission.engineering.nitrogen import precharge_pa
from commission.engineering.proposals import proposal_for
from commission.job.state import Job
from commission.job.steps import StepState
from commission.walk.conditions import field

PROTECTIONS = "protections."
"""Settings of the sheet's `protections` are told beside what the slowest legitimate stroke asks for."""

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

        beside: What else is worth knowing beside it, for information.
    """

    text: str
    origin: str
    number: Decimal | None = None
    beside: str = ""


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
    return Expected(str(value), f"sheet revision {job.sheet.revision}", number, _beside(question.expects, job))


def _beside(name: str, job: Job) -> str:
    """How a setting stands beside what the slowest legitimate stroke asks for; empty for everything else."""
    if not name.startswith(PROTECTIONS):
        return ""
    proposal = proposal_for(job.sheet, name.removeprefix(PROTECTIONS))
    if proposal is None:
        return ""
    digits = 3 if proposal.unit else 0
    return f"proposed {plain(proposal.least, digits)} to {plain(proposal.most, digits)}: {proposal.verdict}"


def _precharge(job: Job, step: Step) -> Expected | None:
    """Precharge at the gas temperature that was read: real nitrogen, the ideal number beside it where they differ."""
    bottle = job.sheet.accumulator
    gas_c = _answered(job, step, GAS_TEMPERATURE)
    if bottle is None or gas_c is None:
        return None
    given = (bottle.precharge_bar * PA_PER_BAR, bottle.precharge_at_c, gas_c)
    ideal = f"{ideal_precharge_pa(*given) / PA_PER_BAR:.1f}"
    try:
        bar, how = f"{precharge_pa(*given) / PA_PER_BAR:.1f}", "real nitrogen"
    except ValueError:  # no gas temperature of this world: it is judged by the simple law
        bar, how = ideal, "ideal gas"
    origin = f"{bottle.precharge_bar:g} bar at {bottle.precharge_at_c:g} °C (sheet), corrected to {gas_c:g} °C, {how}"
    return Expected(bar, origin, Decimal(bar), "" if bar == ideal else f"ideal gas {ideal}")


def _answered(job: Job, step: Step, question: str) -> float | None:
    last = job.steps.get(step.id, StepState()).last
    given = None if last is None else last.answers.get(question)
    return None if given is None else given.answered.value


COMPUTED: Mapping[str, Callable[[Job, Step], Expected | None]] = {"computed.precharge_bar": _precharge}
"""Computations that `expects` may name."""
