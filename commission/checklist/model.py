"""What a checklist is made of: phases, steps with their questions and procedures, cautions, void rules."""

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from typing import Annotated, Any, Literal

import msgspec


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

PULSE = "prove_commands"
"""The one procedure that runs in control: each motion point pulsed at zero pressure, its effect seen (rule R8)."""

BRING_BACK = "bring_back"
"""The one procedure that has no result of its own: it brings a valve back that a stroke left off its end."""

LINE_DAMAGED, LINE_UNANSWERED = "line_damaged", "line_unanswered"
LINE_FIGURES = frozenset({LINE_DAMAGED, LINE_UNANSWERED})
"""What a measured question may ask of the line itself, where a role of the unit would stand."""

LOOKS: frozenset[str] = frozenset({"see_contacts", "compare_values", "point_to_point", "monitor_loop", "alarm_contact"})
"""Procedures that command nothing and move nothing: in control they watch what people do and say what they saw."""


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

        when: Conditions on the sheet, as of a step: elsewhere the question is not asked.
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
    when: Mapping[str, Any] = {}

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
        if len(set(self.choices)) < len(self.choices):
            raise ValueError("choices that differ from one another")
        self._check_limits()

    def _check_limits(self) -> None:
        if (self.least or self.most) and self.kind in ("text", "choice", "person"):
            raise ValueError("limits only where the answer is a number")
        for name in ("least", "most", "within_pct"):
            text = getattr(self, name)
            if text and not _is_decimal(text):
                raise ValueError(f'{name} as a number in quotes, as "12.5", not {text!r}')
        if self.least and self.most and Decimal(self.least) > Decimal(self.most):
            raise ValueError("least ≤ most")


def _is_decimal(text: str) -> bool:
    try:
        return Decimal(text).is_finite()
    except InvalidOperation:
        return False


class ProcedureUse(msgspec.Struct, frozen=True, kw_only=True):
    """A procedure that concludes a step, with its arguments and how often it is run."""

    name: str
    arguments: Mapping[str, str] = {}
    times: Annotated[int, msgspec.Meta(ge=1, le=20)] = 1


class Computed(msgspec.Struct, frozen=True, kw_only=True):
    """A figure computed from a step's answers, with its limits in the figure's SI unit, decimal text, and whose."""

    figure: str
    least: str = ""
    most: str = ""
    origin: str = ""

    def __post_init__(self) -> None:
        """Refuse a limit that is no number, or nobody's."""
        if (self.least or self.most) and not self.origin:
            raise ValueError("a limit with its origin")
        for text in filter(None, (self.least, self.most)):
            if not _is_decimal(text):
                raise ValueError(f'a limit as a number in quotes, as "1000000", not {text!r}')


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

        on_request: Not part of the walk until somebody asks for it, as one more stroke.

        computes: Figures that follow from its answers, see `job.answered`.

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
    on_request: bool = False
    computes: tuple[Computed, ...] = ()

    @property
    def phase(self) -> str:
        """The letter of its phase."""
        return self.id[:1]


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

    def made_void(self, touched: str) -> frozenset[str]:
        """
        Ids of the steps whose results are void once this is touched: `K1` names K1 and its parts as `K1-close`, a
        single letter its whole phase. A step that only brings the valve back has no result that could be.

        Raises:
            KeyError: there is no such rule.
        """
        named = self.voids[touched].voids
        return frozenset(
            step.id
            for step in self.steps
            if any(step.id == name or step.id.startswith(f"{name}-") or step.phase == name for name in named)
            and not (step.procedures and all(use.name == BRING_BACK for use in step.procedures))
        )
