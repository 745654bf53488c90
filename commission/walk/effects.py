"""
What recording an answer also does, by the name in a question's `effect`.

An effect that needs several answers (a permit has a number, an end, a gas test and a tester) is named by each of its
questions, `about` saying which part each is; it happens with the last of them.
"""

from collections.abc import Callable, Mapping
from datetime import date, datetime, timedelta

import msgspec

from commission.analysis.gauge import GaugeError, gauge_of
from commission.checklist import Question, Step
from commission.engineering.battery import Budget, autonomy_days
from commission.figure import Verdict
from commission.job.bodies import (
    Adjusted,
    Answered,
    Body,
    ClockCompared,
    InstrumentAdded,
    PermitRecorded,
    PersonAdded,
    Signed,
    StemLookedAt,
    TemporaryAdded,
)
from commission.job.state import Job
from commission.job.steps import StepState
from commission.procedures.fail_safe_plan import FAIL_SAFE, fail_safe_plan
from commission.procedures.span_plan import SPAN, span_plan
from commission.sheet import End
from commission.walk import acts, partial, sign_off
from commission.walk.acts import ActError
from commission.walk.movement import ARGUMENT, argument_text, arguments_of

AUTONOMY = "autonomy"
"""Id of the question that the standing current answers too."""


class Given(msgspec.Struct, frozen=True, kw_only=True):
    """
    An answer as its effect sees it.

    Args:
        job: Where the visit stands, before the answer.

        step: The step.

        question: The question.

        answered: The answer.

        by: Whose it is.

        now: UTC.
    """

    job: Job
    step: Step
    question: Question
    answered: Answered
    by: str
    now: datetime

    @property
    def text(self) -> str:
        """The answer as understood."""
        return self.answered.text


class Effect(msgspec.Struct, frozen=True):
    """
    One effect.

    Args:
        does: What it does, in words, for the one who writes a checklist.

        make: The events it makes; raises ActError where the answer lacks something.

        parts: What `about` must name one of each of, where the effect takes several answers.

        about: Where it takes one: what `about` has to be: empty, `role`, `kind`, `touched`, `end` or `when`.

        optional: Whether `about` may also be left out.
    """

    does: str
    make: Callable[[Given], tuple[Body, ...]]
    parts: tuple[str, ...] = ()
    about: str = ""
    optional: bool = False


def effects_of(given: Given) -> tuple[Body, ...]:
    """
    The events that an answer makes besides itself.

    Raises:
        ActError: the answer lacks something that the effect needs.
    """
    if not given.question.effect:
        return ()
    return EFFECTS[given.question.effect].make(given)


def parts_of(given: Given) -> dict[str, str] | None:
    """All answers to the parts of this effect in the step so far, by part; None while one is missing."""
    last = given.job.steps.get(given.step.id, StepState()).last
    earlier = {} if last is None else {name: known.answered.text for name, known in last.answers.items()}
    earlier[given.question.id] = given.text
    said = {
        question.about: earlier[question.id]
        for question in given.step.questions
        if question.effect == given.question.effect and question.id in earlier
    }
    return said if said.keys() >= set(EFFECTS[given.question.effect].parts) else None


def _permit(given: Given) -> tuple[Body, ...]:
    parts = parts_of(given)
    if parts is None:
        return ()
    until = datetime.fromisoformat(parts["until"])
    if until <= given.now:
        raise ActError(f"this permit ended at {until:%H:%M} UTC: have it extended first")
    return (
        PermitRecorded(
            number=parts["number"], until_utc=until.isoformat(), gas_test=parts["gas test"], tester=parts["tester"]
        ),
    )


def _instrument(given: Given) -> tuple[Body, ...]:
    """The date is judged as soon as it is said: one that is none is asked again, one in the past warns at once."""
    overdue = _overdue(given) if given.question.about == "due" else ()
    parts = parts_of(given)
    if parts is None:
        return overdue
    added = InstrumentAdded(
        id=parts["id"],
        what=parts["what"],
        certificate=parts["certificate"],
        due=_due(parts["due"]).isoformat(),
        range=parts["range"],
        uncertainty=parts["uncertainty"],
    )
    return (added, *overdue)


def _due(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise ActError(f"{text!r} is no date; give it as 2027-03-31") from error


def _overdue(given: Given) -> tuple[Body, ...]:
    due = _due(given.text)
    if due >= given.now.date():
        return ()
    return (
        acts.raise_deviation(
            given.job,
            given.step.id,
            f"each instrument within its calibration date ({given.step.id})",
            f"an instrument was due for calibration on {due}, and is used: all that rests on it is in doubt",
        ),
    )


def _person(given: Given) -> tuple[Body, ...]:
    return (PersonAdded(name=given.text, role=given.question.about),)


def _clock(given: Given) -> tuple[Body, ...]:
    value = given.answered.value
    if value is None:
        raise ActError("the control room's clock, as 14:02:11")
    when = given.question.about or "start"
    return (ClockCompared(when=when, offset_s=value, against="control room's event log, by voice"),)


def clock_offset_s(text: str, now: datetime) -> float:
    """
    Laptop minus control room, in seconds, from the control room's clock as it is read out.

    Whole and half hours between the two are a time zone, not an offset, and are taken out: the offset lies within a
    quarter of an hour.

    Raises:
        ActError: the text is no time of day with seconds.
    """
    try:
        said = datetime.strptime(text.strip(), "%H:%M:%S").replace(tzinfo=now.tzinfo)
    except ValueError as error:
        raise ActError(f"{text.strip()!r} is no time of day with seconds; as 14:02:11") from error
    said = said.replace(year=now.year, month=now.month, day=now.day)
    half_hour = timedelta(minutes=30)
    offset = (now - said + half_hour / 2) % half_hour - half_hour / 2
    return round(offset.total_seconds(), 1)


def _temporary_on(given: Given) -> tuple[Body, ...]:
    parts = [part.strip() for part in given.text.split(";")]
    if len(parts) == 1 and parts[0].lower() in ("none", "no"):
        return ()
    if len(parts) != 3:
        raise ActError("what; where; why, as: jumper; TB-3 4 to 5; to hold the ESD loop; or: none")
    return (acts.temporary_on(given.job, given.question.about, *parts),)


def _adjusted(given: Given) -> tuple[Body, ...]:
    unit = f" {given.answered.unit}" if given.answered.unit and given.answered.value is not None else ""
    detail = given.text if given.answered.value is None else f"{given.answered.value:g}{unit}"
    return (Adjusted(touched=given.question.about, detail=f"{given.question.ask.rstrip('?: ')}: {detail}"),)


def _stem_mark(given: Given) -> tuple[Body, ...]:
    ends = [word for word in given.text.lower().replace(",", " ").split() if word in (End.OPEN, End.CLOSED)]
    if len(ends) != 2:
        raise ActError("where the stem mark stood and where it stands now, as: open to closed")
    return (StemLookedAt(direction=given.question.about, start_mark=ends[0], end_mark=ends[1]),)


def _signed(given: Given) -> tuple[Body, ...]:
    blocked = sign_off.blockers(given.job, given.now)
    if blocked:
        raise ActError(f"signing is blocked: {blocked[0]}" + (f" ({len(blocked)} in all)" if len(blocked) > 1 else ""))
    return (Signed(role=given.question.about, statement=given.question.ask, how=f"name typed: {given.text}"),)


def _lowered_limit(given: Given) -> tuple[Body, ...]:
    """`proved at; set value read back; owner's engineer` (safety rule R23); `none` where it ran at its real limit."""
    if is_none(given.text):
        return ()
    proved_at, read_back, engineer = lowered_limit(given.text)
    body: TemporaryAdded = acts.temporary_on(
        given.job,
        "setting",
        f"{given.question.about} lowered to {proved_at}",
        f"setting {given.question.about}",
        f"to prove it acts; set {read_back}; approved by {engineer}",
    )
    return (body,)


def is_none(text: str) -> bool:
    """Whether nothing was lowered."""
    return text.strip().lower() in ("none", "no")


def lowered_limit(text: str) -> tuple[str, str, str]:
    """
    Where a protection was proved, what its set value read back, and the owner's engineer who approved.

    Raises:
        ActError: one of the three is missing.
    """
    parts = [part.strip() for part in text.split(";")]
    if len(parts) != 3 or not all(parts):
        raise ActError("proved at; set value read back; owner's engineer, as: 20 s; 300 s; P. Exampler")
    return parts[0], parts[1], parts[2]


def _not_round(given: Given) -> tuple[Body, ...]:
    """With words swapped 100.0, 62.5 and 50.0 all read 0.00: only a value that is not round proves their order."""
    value = given.answered.value
    if value is None or abs(value * 2 - round(value * 2)) < 0.02:
        raise ActError(f"{given.text} is too round to prove the order of words: wait for, or make, another value")
    return ()


def _argument(given: Given) -> tuple[Body, ...]:
    """What the procedures of the step, or of others that take it over, cannot use is asked again."""
    if given.question.about == "gauge":
        try:
            gauge_of(given.text)
        except GaugeError as error:
            raise ActError(str(error)) from error
    for use in given.step.procedures:
        plan = {SPAN: span_plan, FAIL_SAFE: fail_safe_plan}.get(use.name)
        if plan is not None:
            arguments = {
                **arguments_of(given.job, given.step, use),
                given.question.about: argument_text(given.answered),
            }
            try:
                plan(given.job.sheet, arguments)
            except ValueError as error:
                raise ActError(str(error)) from error
    return ()


def _autonomy(given: Given) -> tuple[Body, ...]:
    """Days without charging, by the standing current that was read and by what a measured stroke took."""
    supply, standing_a = given.job.sheet.supply, given.answered.value
    drawn_ah = _stroke_ah(given.job)
    if standing_a is None or drawn_ah is None or supply.battery_ah is None or supply.depth_of_discharge is None:
        return ()
    taken = Budget(standby_a=standing_a, stroke_ah=drawn_ah, strokes_per_day=supply.strokes_per_day or 0.0)
    cold = 1.0 if supply.cold_factor is None else supply.cold_factor
    days = autonomy_days(supply.battery_ah, supply.depth_of_discharge, cold, taken.ah_per_day)
    wanted = supply.autonomy_days or 0.0
    enough = days >= wanted
    said = (
        f"{days:.1f} days by {taken.ah_per_day:.1f} Ah a day, {drawn_ah:.2f} Ah a stroke as measured;"
        f" {supply.battery_ah:g} Ah, {supply.depth_of_discharge:g} of it, cold factor {cold:g} (sheet)"
    )
    known = Answered(
        step=given.step.id,
        question=AUTONOMY,
        text=said,
        value=float(f"{days:.3g}"),
        unit="day",
        verdict=Verdict.PASS if enough else Verdict.FAIL,
    )
    if enough:
        return (known,)
    required = f"at least {wanted:g} days without charging (sheet)"
    return (known, acts.raise_deviation(given.job, given.step.id, required, said))


def _stroke_ah(job: Job) -> float | None:
    """What the latest stroke by the pump took from the supply, in A·h; None where none was measured."""
    for run in reversed(list(job.runs.values())):
        drawn = run.figure("charge_drawn")
        if drawn is not None and not run.voided_by:
            return float(drawn.decimal)
    return None


def _baseline(given: Given) -> tuple[Body, ...]:
    return (partial.baseline_of(given.job, given.text),)


def _nothing(_given: Given) -> tuple[Body, ...]:
    return ()


EFFECTS: Mapping[str, Effect] = {
    "permit": Effect("records the permit to work", _permit, ("number", "until", "gas test", "tester")),
    "person": Effect("adds a person in the role that `about` names", _person, about="role"),
    "instrument": Effect(
        "adds a measuring instrument", _instrument, ("id", "what", "certificate", "due", "range", "uncertainty")
    ),
    "clock": Effect("compares the laptop's clock with the control room's", _clock, about="when"),
    "temporary on": Effect("puts something on the temporary list, or `none`", _temporary_on, about="kind"),
    "temporary off": Effect(
        "first takes each thing of this kind off the temporary list", _nothing, about="kind", optional=True
    ),
    "adjusted": Effect("makes void what depends on what was touched", _adjusted, about="touched"),
    "stem mark": Effect("names the stem mark at both ends of a stroke (rule R20)", _stem_mark, about="end"),
    "deviations accepted": Effect("first has each deviation of class A accepted", _nothing),
    "signed": Effect("signs the question's text as a statement in this role", _signed, about="role"),
    "baseline": Effect(
        "makes the partial strokes that stand the baseline, signed by name; `name; reason` to renew one", _baseline
    ),
    "not round": Effect("refuses a round value, which proves no order of words", _not_round),
    ARGUMENT: Effect("hands the answer to the step's procedures, as what `about` names", _argument, about="argument"),
    "autonomy": Effect("answers the step's question `autonomy` by the current that was read", _autonomy),
    "how caused": Effect("any choice but the first makes the step `simulated` (rule R23)", _nothing),
    "lowered limit": Effect(
        "puts the lowered setting on the temporary list; the step is never a plain pass (rule R23)",
        _lowered_limit,
        about="role",
    ),
}
"""Every effect that a question may name."""
