"""
Is a checklist sound for the walk? What the reader of the file cannot know: effects, conditions, expectations, and
whether crossings lead to every state that a step belongs to, and straight back to locked.
"""

from collections.abc import Iterator

from commission.checklist import Checklist, Question, Step
from commission.content import Problem, nearest
from commission.energy import CROSSINGS, EnergyState
from commission.job.answered import COMPUTATIONS
from commission.sheet import End
from commission.walk.conditions import full_name
from commission.walk.effects import EFFECTS
from commission.walk.expected import ANSWER, COMPUTED
from commission.walk.movement import FROM


def check_walk(checklist: Checklist, file: str) -> list[Problem]:
    """
    All that the walk could not do as the checklist says.

    Args:
        checklist: As read.

        file: Its name, for the messages.
    """
    problems: list[Problem] = []
    for step in checklist.steps:
        place = f"step {step.id!r}"
        problems.extend(_conditions(step, file, place))
        problems.extend(_crossing(step, file, place))
        problems.extend(_parts(step, file, place))
        problems.extend(_computed(step, file, place))
        problems.extend(_taken_over(checklist, step, file, place))
        for question in step.questions:
            where = f"{place}, question {question.id!r}"
            problems.extend(_effect(checklist, question, file, where))
            problems.extend(_names(step, question, file, where))
            problems.extend(_conditions(question, file, where))
    problems.extend(_reach(checklist, file))
    return problems


def _conditions(asked: Step | Question, file: str, place: str) -> Iterator[Problem]:
    for name in asked.when:
        try:
            full_name(name)
        except KeyError:
            yield Problem(file, place, "when", repr(name), "a field of the sheet, or role. with a role")


def _crossing(step: Step, file: str, place: str) -> Iterator[Problem]:
    if step.crosses is None:
        return
    ways = {way.target for way in CROSSINGS if way.source == step.state}
    if step.crosses not in ways:
        expected = f"from {step.state}: {', '.join(sorted(ways))}" if ways else "a state to start from"
        yield Problem(file, place, "crosses", step.crosses, expected)


def _effect(checklist: Checklist, question: Question, file: str, where: str) -> Iterator[Problem]:
    if not question.effect:
        return
    effect = EFFECTS.get(question.effect)
    if effect is None:
        near = nearest(question.effect, EFFECTS)
        yield Problem(file, where, "effect", repr(question.effect), f"one of {', '.join(EFFECTS)}", near)
        return
    known = {
        "kind": tuple(checklist.temporary),
        "touched": tuple(checklist.voids),
        "end": tuple(str(end) for end in End),
        "when": ("start", "end"),
    }.get(effect.about, effect.parts)
    missing = not question.about and not effect.optional and bool(effect.about or effect.parts)
    if missing or (question.about and known and question.about not in known):
        near = nearest(question.about, known)
        yield Problem(file, where, "about", repr(question.about), ", ".join(known) or f"a {effect.about}", near)
    if question.effect == "how caused" and question.kind != "choice":
        yield Problem(file, where, "kind", question.kind, "choice: the first is the real cause")


def _parts(step: Step, file: str, place: str) -> Iterator[Problem]:
    for name in sorted({question.effect for question in step.questions if question.effect in EFFECTS}):
        given = [question.about for question in step.questions if question.effect == name]
        for part in EFFECTS[name].parts:
            if given.count(part) != 1:
                found = "no question" if part not in given else "several questions"
                yield Problem(file, place, f"effect {name}", f"{found} about {part!r}", "one question about each part")


def _computed(step: Step, file: str, place: str) -> Iterator[Problem]:
    """A figure from answers is known, and every question that it needs is asked, as a number in a unit that fits."""
    asked = {question.id: question for question in step.questions}
    for computed in step.computes:
        computation = COMPUTATIONS.get(computed.figure)
        if computation is None:
            near = nearest(computed.figure, COMPUTATIONS)
            yield Problem(file, place, "computes", repr(computed.figure), f"one of {', '.join(COMPUTATIONS)}", near)
            continue
        for name, unit in computation.needs:
            if name not in asked or asked[name].kind != "number":
                yield Problem(file, place, "computes", f"no number {name!r}", f"a question {name!r}, in {unit}")


def _taken_over(checklist: Checklist, step: Step, file: str, place: str) -> Iterator[Problem]:
    """An argument `@step.question` names a question that is there."""
    known = {f"{FROM}{other.id}.{question.id}" for other in checklist.steps for question in other.questions}
    for use in step.procedures:
        for name, text in use.arguments.items():
            if text.startswith(FROM) and text not in known:
                near = nearest(text, known)
                yield Problem(
                    file, place, f"procedure {use.name}, {name}", repr(text), "@step.question of this list", near
                )


def _names(step: Step, question: Question, file: str, where: str) -> Iterator[Problem]:
    earlier = [other.id for other in step.questions[: step.questions.index(question)]]
    answered = question.expects.startswith(ANSWER)
    if answered and question.expects.removeprefix(ANSWER) not in earlier:
        yield Problem(file, where, "expects", repr(question.expects), "answer. with an earlier question of the step")
    if question.expects and not answered and question.expects not in COMPUTED:
        try:
            full_name(question.expects)
        except KeyError:
            yield Problem(file, where, "expects", repr(question.expects), "a field of the sheet", "")


def _reach(checklist: Checklist, file: str) -> Iterator[Problem]:
    """From unknown every state that a step belongs to is reached, and each of them leads straight to locked."""
    edges = [(str(step.state), str(step.crosses)) for step in checklist.steps if step.crosses]
    wanted = {str(step.state) for step in checklist.steps if step.state != "any" and not step.crosses}
    reached = _from(str(EnergyState.UNKNOWN), edges)
    for state in sorted(wanted - reached):
        yield Problem(file, "", "steps", f"no crossings from unknown to {state}", "crossings that lead there")
    for state in sorted((wanted & reached) - {"locked"}):
        if (state, "locked") not in edges:
            yield Problem(file, "", "steps", f"no crossing from {state} back to locked", "one, for when hands go in")


def _from(start: str, edges: list[tuple[str, str]]) -> set[str]:
    reached = {start}
    while True:
        further = {there for here, there in edges if here in reached} - reached
        if not further:
            return reached
        reached |= further
