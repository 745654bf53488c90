"""What a checklist gets wrong although every field is well formed: safety rule R5 and design, decision 8."""

import graphlib
import re
from collections.abc import Iterator, Mapping, Sequence

from commission.checklist.model import LINE_FIGURES, LOOKS, PULSE, Access, Checklist, Question, Step, VoidRule
from commission.content import Problem, nearest
from commission.sheet import ROLES

_STEP_ID = re.compile(r"[A-Z]\d{1,2}(-[a-z0-9]+)*")


def contradictions(checklist: Checklist, file: str) -> list[Problem]:
    """What a checklist gets wrong although every field is well formed, in the order of its steps."""
    problems: list[Problem] = []
    ids = [step.id for step in checklist.steps]
    phases = [phase.id for phase in checklist.phases]
    problems.extend(repeated(file, "phases", phases))
    for number, step in enumerate(checklist.steps):
        place = f"step {step.id!r}"
        if step.id in ids[:number]:
            problems.append(Problem(file, place, "id", "the same id twice", "one id a step"))
        if not _STEP_ID.fullmatch(step.id):
            problems.append(Problem(file, place, "id", repr(step.id), "a phase letter and a number, as K1 or K1-close"))
        elif step.phase not in phases:
            problems.append(Problem(file, place, "id", f"phase {step.phase}", "a phase that is listed"))
        problems.extend(_unknown(file, place, "cautions", step.cautions, checklist.cautions))
        problems.extend(_unknown(file, place, "needs", step.needs, ids))
        problems.extend(_questions(file, place, step.questions))
        problems.extend(_unsafe(file, place, step))
    problems.extend(_circles(file, checklist))
    for rule in checklist.voids.values():
        problems.extend(_unknown_step(file, rule, ids))
    return problems


def repeated(file: str, place: str, ids: Sequence[str]) -> Iterator[Problem]:
    """One problem for each id that stands more than once: the later would silently replace the earlier."""
    for name in sorted({name for name in ids if ids.count(name) > 1}):
        yield Problem(file, f"{place} {name!r}", "id", "the same id twice", "one id each")


def _circles(file: str, checklist: Checklist) -> Iterator[Problem]:
    """Steps that need one another could never begin."""
    try:
        graphlib.TopologicalSorter({step.id: step.needs for step in checklist.steps}).prepare()
    except graphlib.CycleError as error:
        circle = error.args[1][::-1]
        yield Problem(file, f"step {circle[0]!r}", "needs", " needs ".join(circle), "no circle")


def _questions(file: str, place: str, questions: tuple[Question, ...]) -> Iterator[Problem]:
    ids = [question.id for question in questions]
    yield from repeated(file, f"{place}, question", ids)
    for number, question in enumerate(questions):
        where = f"{place}, question {question.id!r}"
        if question.role and question.role not in ROLES and question.role not in LINE_FIGURES:
            yield Problem(file, where, "role", repr(question.role), "a known role", nearest(question.role, ROLES))
        if question.if_bad and question.if_bad not in ids[:number]:
            expected = "an earlier question of the step"
            yield Problem(
                file, where, "if_bad", repr(question.if_bad), expected, nearest(question.if_bad, ids[:number])
            )


def _unknown(
    file: str, place: str, field: str, names: tuple[str, ...], known: Mapping[str, object] | list[str]
) -> list[Problem]:
    return [
        Problem(file, place, field, repr(name), "a name that is defined", nearest(name, known))
        for name in names
        if name not in known
    ]


def _unknown_step(file: str, rule: VoidRule, ids: list[str]) -> list[Problem]:
    """A void rule may name steps of the trade that this checklist does not have; a likely misspelling is refused."""
    return [
        Problem(file, f"void {rule.id!r}", "voids", repr(name), "a step id, a letter and a number")
        for name in rule.voids
        if not (name in ids or (name[:1].isupper() and name[1:].replace("-", "").isalnum()) or len(name) == 1)
    ]


def _unsafe_procedures(file: str, place: str, step: Step) -> list[Problem]:
    return [
        Problem(
            file,
            place,
            "procedures",
            f"{use.name} in state {step.state}",
            "state live; only a pulse is in control, and what looks",
        )
        for use in step.procedures
        if step.state != ("control" if use.name == PULSE or use.name in LOOKS else "live")
    ]


def _unsafe(file: str, place: str, step: Step) -> list[Problem]:
    problems = []
    hands_inside = step.access in (Access.INSIDE, Access.FITTED_WHILE_LOCKED)
    if step.state in ("live", "in operation") and hands_inside:
        problems.append(
            Problem(file, place, "access", step.access, "outside: a live step never asks for hands inside a cover")
        )
    if step.state == "control" and step.access is Access.INSIDE:
        problems.append(Problem(file, place, "access", step.access, f"{Access.QUALIFIED_CONTROL}, or state locked"))
    if step.state in ("live", "in operation", "pumping") and step.access is Access.QUALIFIED_CONTROL:
        problems.append(Problem(file, place, "access", step.access, "state control for work at terminals"))
    if step.moves and step.state not in ("live", "pumping") and not step.crosses:
        problems.append(Problem(file, place, "moves", f"a movement in state {step.state}", "state live or pumping"))
    problems.extend(_unsafe_procedures(file, place, step))
    if step.state == "any" and step.access is not Access.OUTSIDE:
        problems.append(Problem(file, place, "access", step.access, "outside: hands go in only in a named state"))
    if step.state == "unknown" and not step.crosses:
        problems.append(Problem(file, place, "state", "unknown", "a crossing, which leads out of it"))
    if step.crosses in ("any", "unknown"):
        problems.append(Problem(file, place, "crosses", step.crosses, "a state that evidence leads to"))
    if not step.cautions:
        problems.append(Problem(file, place, "cautions", "nothing", "at least one caution"))
    if not (step.questions or step.crosses or step.procedures):
        problems.append(Problem(file, place, "", "nothing to conclude it by", "questions, crosses or procedures"))
    return problems
