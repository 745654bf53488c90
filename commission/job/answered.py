"""
Figures computed from what people measured by hand and typed: the insulation at 40 °C, the unbalance of three volts.

A step of the checklist names them (`computes`); the questions that they need have fixed ids. The walk records what
comes out when the step is concluded; `verify` does it again from the answers.
"""

from collections.abc import Callable, Mapping
from decimal import Decimal

import msgspec

from commission import quantity
from commission.analysis.decision import Limits, decide
from commission.analysis.supply_trace import insulation_at_40, source_resistance, unbalance_figure
from commission.checklist import Computed, Step
from commission.figure import Figure
from commission.job.bodies import ResultDecided, SeriesCompared
from commission.job.steps import Attempt
from commission.job.verdicts import with_decision

OWN_ERROR = "the meter's own error is not in it"


class Computation(msgspec.Struct, frozen=True):
    """
    One figure from answers.

    Args:
        needs: The questions by id, each with the unit that the computation takes it in.

        figure: From their values, in that order.
    """

    needs: tuple[tuple[str, str], ...]
    figure: Callable[..., Figure]


def _unbalance(*volts: float) -> Figure:
    return unbalance_figure(volts)


COMPUTATIONS: Mapping[str, Computation] = {
    "insulation_at_40_c": Computation((("insulation", "ohm"), ("winding", "degC")), insulation_at_40),
    "voltage_unbalance": Computation((("volts_12", "V"), ("volts_23", "V"), ("volts_31", "V")), _unbalance),
    "source_resistance": Computation((("volts_rest", "V"), ("volts_loaded", "V"), ("load", "A")), source_resistance),
}
"""By the name of the figure."""


def answers_of(step: Step, attempt: Attempt) -> dict[str, str]:
    """The answers of an attempt that the step's computations need, as decimal text in the units that they take."""
    questions = {question.id: question for question in step.questions}
    found: dict[str, str] = {}
    for computed in step.computes:
        for name, unit in COMPUTATIONS[computed.figure].needs:
            given = attempt.answers.get(name)
            if given is not None and given.answered.value is not None and name in questions:
                in_unit = quantity.conversion(questions[name].unit or "1", unit).apply(given.answered.value)
                found[name] = f"{in_unit:.12g}"
    return found


def compute(step: Step, answers: Mapping[str, str]) -> SeriesCompared | None:
    """
    What a step's answers come to; None where nothing is to be computed, or nothing can.

    Args:
        step: Whose `computes` says what.

        answers: As of `answers_of`.
    """
    figures: list[Figure] = []
    results: list[ResultDecided] = []
    for computed in step.computes:
        computation = COMPUTATIONS[computed.figure]
        if any(name not in answers for name, _ in computation.needs):
            continue
        try:
            figure = computation.figure(*(float(Decimal(answers[name])) for name, _ in computation.needs))
        except ValueError:  # no resistance of this world: the answer itself is judged
            continue
        figures.append(msgspec.structs.replace(figure, note="; ".join(filter(None, (figure.note, OWN_ERROR)))))
        if computed.least or computed.most:
            results.append(_judged(step.id, computed, figures[-1]))
    if not figures:
        return None
    return SeriesCompared(
        step=step.id, runs=(), figures=tuple(figures), results=tuple(results), answers=dict(answers)
    )  # fmt: skip


def _judged(step: str, computed: Computed, figure: Figure) -> ResultDecided:
    empty = ResultDecided(
        run="",
        step=step,
        test=f"{step} answers",
        figure=figure.name,
        verdict="",
        rule="",
        limit_low="",
        limit_high="",
        origin=computed.origin,
    )
    return with_decision(empty, decide(figure, Limits(computed.least or None, computed.most or None)))
