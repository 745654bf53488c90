"""
The checklist: what is to be done, as TOML that a service engineer edits.

A checklist holds steps, the cautions they show, the table of what an adjustment makes void, and the kinds of temporary
thing. It may include other files beside it, so that two checklists share one set of cautions. A step states the energy
state it belongs to, who may have hands where (safety rule R5), what it needs done before, and how it is concluded:
by answers to its questions, by a crossing of the energy state, or by a procedure that moves the valve.
"""

from collections.abc import Mapping
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any, Literal

import msgspec

from commission.content import ContentError, Problem, Text, build, nearest, parse_toml, read_text


class SignalWord(StrEnum):
    """Signal words after ANSI Z535.4, greatest hazard first."""

    DANGER = "DANGER"
    WARNING = "WARNING"
    CAUTION = "CAUTION"
    NOTICE = "NOTICE"


class Access(StrEnum):
    """Where a step asks for hands (safety rule R5)."""

    OUTSIDE = "outside"
    FITTED_WHILE_LOCKED = "fitted while locked"
    QUALIFIED_CONTROL = "qualified person, at most 50 V, control, valve at fail position"
    INSIDE = "inside, locked"


StateName = Literal["any", "locked", "pumping", "control", "live", "in operation", "unknown"]

PULSE = "pulse_command"
"""The one procedure that runs in control: a motion point pulsed at zero pressure, its effect seen (safety rule R8)."""


class Caution(msgspec.Struct, frozen=True, kw_only=True):
    """A caution card, shown before the act. `text`: hazard, what happens, how to avoid."""

    id: str
    word: SignalWord
    text: str


class Question(msgspec.Struct, frozen=True, kw_only=True):
    """
    A question of a step; its answer is a value, a state word or a name, never a tick.

    Args:
        id: Unique in the step.

        ask: The question.

        kind: `text`, `number`, `count`, `choice`, `person`, `date`, `measured` (read from the unit by the program and
            shown beside the answer asked of a person), `time` (minutes, or HH:MM UTC).

        unit: Of a number.

        choices: Of a choice; the first is the good one.

        least: Lower limit of a number, decimal text.

        most: Upper limit of a number, decimal text.

        origin: Where the limit comes from; a limit without origin is refused.

        role: For `measured`: the role that is read.

        expects: A sheet field, as `identity.serial`, or a computed value, see `walk.expected`; a differing answer
            raises a deviation.

        within_pct: Of a number with `expects`: how far it may differ, in percent of the expected, decimal text.

        effect: What recording the answer also does, by name: see `walk.effects`.

        about: What the effect is about: a role, a kind of temporary thing, what is touched, a direction, a part.

        asked: Before the step's crossing or procedures, or after them.

        if_bad: Asked only where the answer to this earlier question of the step is outside its limits; a good answer
            here then makes the step "pass after adjustment".

        stops: What to do where the answer is bad; such a step ends as stopped and opens nothing.
    """

    id: str
    ask: str
    kind: Literal["text", "number", "count", "choice", "person", "measured", "time"] = "text"
    unit: str = ""
    choices: tuple[str, ...] = ()
    least: str = ""
    most: str = ""
    origin: str = ""
    role: str = ""
    expects: str = ""
    within_pct: str = ""
    effect: str = ""
    about: str = ""
    asked: Literal["before", "after"] = "before"
    if_bad: str = ""
    stops: str = ""

    def __post_init__(self) -> None:
        """Refuse a question that cannot be answered or judged."""
        if (self.least or self.most or self.within_pct) and not self.origin:
            raise ValueError("a limit with its origin")
        if self.within_pct and not self.expects:
            raise ValueError("what within_pct is a percentage of, in expects")
        if (self.kind == "choice") != bool(self.choices):
            raise ValueError("choices where, and only where, kind is choice")
        if (self.kind == "measured") != bool(self.role):
            raise ValueError("a role where, and only where, kind is measured")


class ProcedureUse(msgspec.Struct, frozen=True, kw_only=True):
    """A procedure that concludes a step, with its arguments and how often it is run."""

    name: str
    arguments: Mapping[str, str] = {}
    times: Annotated[int, msgspec.Meta(ge=1, le=20)] = 1


class Step(msgspec.Struct, frozen=True, kw_only=True):
    """
    One step of the walk.

    Args:
        id: The trade's step id, as `K1`; with a suffix where a step is split, as `K1-close`.

        title: One imperative.

        state: Energy state it belongs to; `any` where energy does not matter.

        access: Where hands go.

        moves: Whether the valve moves or may move in it.

        do: What to do, in plain words.

        why: Purpose.

        fault: What a fault looks like.

        say: What to say on the radio before it.

        cautions: Ids of its cautions.

        needs: Ids of steps that must be done and not void.

        when: Conditions on the sheet, as `{ action = "spring-return" }`; all must hold.

        questions: Asked in order.

        crosses: The energy state it leads to.

        procedures: Procedures it runs, in order.

    A step that crosses is never next by its place in the list: it is walked, as often as needed, where the next step
    belongs to another energy state. Only a crossing may belong to the state unknown.
    """

    id: str
    title: str
    state: StateName
    access: Access = Access.OUTSIDE
    moves: bool = False
    do: str
    why: str = ""
    fault: str = ""
    say: str = ""
    cautions: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    when: Mapping[str, Any] = {}
    questions: tuple[Question, ...] = ()
    crosses: StateName | None = None
    procedures: tuple[ProcedureUse, ...] = ()

    @property
    def phase(self) -> str:
        """The letter of its phase."""
        return self.id[0]


class Phase(msgspec.Struct, frozen=True, kw_only=True):
    """A phase of the walk, by its letter."""

    id: str
    name: str


class VoidRule(msgspec.Struct, frozen=True, kw_only=True):
    """Touch this, and the results of these steps become void."""

    id: str
    touched: str
    voids: tuple[str, ...]


class TemporaryKind(msgspec.Struct, frozen=True, kw_only=True):
    """A kind of temporary thing that blocks signing while it is on."""

    id: str
    name: str


class _File(msgspec.Struct, frozen=True, kw_only=True):
    """One file: a checklist, or a part that a checklist includes."""

    format: Literal[1]
    name: str = ""
    revision: str = ""
    include: tuple[str, ...] = ()
    phases: tuple[Phase, ...] = ()
    steps: tuple[Step, ...] = ()
    cautions: tuple[Caution, ...] = ()
    voids: tuple[VoidRule, ...] = ()
    temporary: tuple[TemporaryKind, ...] = ()


class Checklist(msgspec.Struct, frozen=True, kw_only=True):
    """A checklist with everything it includes."""

    name: str
    revision: str
    phases: tuple[Phase, ...]
    steps: tuple[Step, ...]
    cautions: Mapping[str, Caution]
    voids: Mapping[str, VoidRule]
    temporary: Mapping[str, TemporaryKind]

    def step(self, name: str) -> Step:
        """
        The step with this id.

        Raises:
            KeyError: there is none.
        """
        for step in self.steps:
            if step.id == name:
                return step
        raise KeyError(name)


def load_checklist(path: Path) -> tuple[Checklist, tuple[Text, ...]]:
    """
    A checklist and the texts it was read from, itself first.

    Raises:
        ContentError: with every mistake of every file.
    """
    first = read_text(path)
    included = (read_text(path.parent / str(name)) for name in parse_toml(first).get("include", ()))
    texts = (first, *included)
    return parse_checklist(texts), texts


def parse_checklist(texts: tuple[Text, ...]) -> Checklist:
    """
    The checklist in the given texts, itself first, then what it includes.

    Raises:
        ContentError: with every mistake of every text.
    """
    problems: list[Problem] = []
    files = [build(_File, parse_toml(text), text.name, problems) for text in texts]
    whole = [file for file in files if file is not None]
    if problems:
        raise ContentError(problems)
    checklist = Checklist(
        name=whole[0].name,
        revision=whole[0].revision,
        phases=tuple(phase for file in whole for phase in file.phases),
        steps=tuple(step for file in whole for step in file.steps),
        cautions={caution.id: caution for file in whole for caution in file.cautions},
        voids={rule.id: rule for file in whole for rule in file.voids},
        temporary={kind.id: kind for file in whole for kind in file.temporary},
    )
    found = contradictions(checklist, texts[0].name)
    if found:
        raise ContentError(found)
    return checklist


def contradictions(checklist: Checklist, file: str) -> list[Problem]:
    """What a checklist gets wrong although every field is well formed; safety rules R5 and design 8."""
    problems: list[Problem] = []
    ids = [step.id for step in checklist.steps]
    phases = {phase.id for phase in checklist.phases}
    for number, step in enumerate(checklist.steps):
        place = f"step {step.id!r}"
        if step.id in ids[:number]:
            problems.append(Problem(file, place, "id", "the same id twice", "one id a step"))
        if step.phase not in phases:
            problems.append(Problem(file, place, "id", f"phase {step.phase}", "a phase that is listed"))
        problems.extend(_unknown(file, place, "cautions", step.cautions, checklist.cautions))
        problems.extend(_unknown(file, place, "needs", step.needs, ids))
        problems.extend(_unsafe(file, place, step))
    for rule in checklist.voids.values():
        problems.extend(_unknown_step(file, rule, ids))
    return problems


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
            file, place, "procedures", f"{use.name} in state {step.state}", "state live; only a pulse is in control"
        )
        for use in step.procedures
        if step.state != ("control" if use.name == PULSE else "live")
    ]


def _unsafe(file: str, place: str, step: Step) -> list[Problem]:
    problems = []
    hands_inside = step.access in (Access.INSIDE, Access.FITTED_WHILE_LOCKED)
    if step.state in ("live", "in operation") and hands_inside:
        problems.append(
            Problem(file, place, "access", step.access, "outside: a live step never asks for hands inside a cover")
        )
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
