"""
The movements of a step: which test a run makes, how far its runs have come, how long one may take.

A test is named once for each run, as `K1-close closed 2`, and everything that is said or given for it (confirmation,
leave, motion) carries that name.
"""

from collections.abc import Callable, Mapping

import msgspec

from commission.checklist import ProcedureUse, Step
from commission.checklist.model import LOOKS, PULSE
from commission.figure import Verdict
from commission.job.bodies import Answered
from commission.job.motions import Run
from commission.job.state import Job
from commission.job.steps import Attempt, StepState
from commission.procedures.fail_safe_plan import BROUGHT, FAIL_SAFE, brought_longest_s, fail_safe_longest_s, test_words
from commission.procedures.follow_input import follow_s
from commission.procedures.hold import hold_s
from commission.procedures.monitor_watch import LONGEST_S as MONITOR_S
from commission.procedures.panel_acts import panel_acts_longest_s
from commission.procedures.partial_stroke import TRIES
from commission.procedures.partial_told import STEADY_S
from commission.procedures.protection import LONGEST_S as PROTECTION_S
from commission.procedures.set_points import set_points_longest_s
from commission.procedures.span_plan import span_longest_s
from commission.sheet import Sheet

SETTLE_S = 35.0
"""What a stroke takes besides its travel: seen at rest before and after, the pump on to cut-out."""

PULSE_S = 30.0
"""The command points are pulsed one after the other and watched for their effect this long at most."""


WATCHES_MONITOR = frozenset(
    {"trip_found", "monitor_points", "trip_delay", "trip_point", "trip_stroke", "trip_latch", "monitor_back"}
)
"""Procedures that watch the pressure monitor while people work its test pump: they command nothing."""


class MotionTest(msgspec.Struct, frozen=True):
    """
    One run to be made.

    Args:
        name: Names it in confirmation, leave and motion.

        step: Id of its step.

        direction: The end it goes to, or empty.

        number: Which run of this step it is, over the whole visit.

        longest_s: Longest it may take.
    """

    name: str
    step: str
    direction: str
    number: int
    longest_s: float

    @property
    def kind(self) -> str:
        """Its name without the number: repeats share it."""
        return self.name.rsplit(" ", 1)[0]


def direction_of(use: ProcedureUse) -> str:
    """The end a procedure's movement goes to; empty where it has none."""
    return use.arguments.get("direction", "")


ARGUMENT = "argument"
"""The effect of a question whose answer is handed to the step's procedures."""


FROM = "@"
"""An argument that begins so is the last answer to a question of another step: `@O1.gauge`."""


def arguments_of(job: Job, step: Step, use: ProcedureUse) -> dict[str, str]:
    """The arguments of a procedure: those of the checklist, and the answers that are handed to it."""
    last = job.steps.get(step.id, StepState()).last
    answers = {} if last is None else last.answers
    given = {
        question.about: argument_text(answers[question.id].answered)
        for question in step.questions
        if question.effect == ARGUMENT and question.id in answers
    }
    taken = {name: _taken_from(job, text) if text.startswith(FROM) else text for name, text in use.arguments.items()}
    return {**taken, **given}


def _taken_from(job: Job, text: str) -> str:
    """The last answer to `@step.question`; empty where nobody was asked yet."""
    name, _, question = text.removeprefix(FROM).partition(".")
    for attempt in reversed(job.steps.get(name, StepState()).attempts):
        if question in attempt.answers:
            return argument_text(attempt.answers[question].answered)
    return ""


def argument_text(answered: Answered) -> str:
    """An answer as an argument: a number in the question's own unit, else the words."""
    return answered.text if answered.value is None else f"{answered.value:.12g}"


def next_test(job: Job, step: Step, use: ProcedureUse) -> MotionTest:
    """The next run of this procedure in this step; numbers count over the whole visit, so no name comes twice."""
    direction = direction_of(use)
    number = 1 + sum(run.begun.step == step.id for run in job.runs.values())
    said = _in_its_name(job.sheet, use) or ("" if step.id.endswith(f"-{direction}") else direction)
    name = " ".join(part for part in (step.id, said, str(number)) if part)
    return MotionTest(name, step.id, direction, number, longest_s(job.sheet, use))


def _in_its_name(sheet: Sheet, use: ProcedureUse) -> str:
    """What tells one watched movement of a step from another: a go for one is none for the other (safety rule R13)."""
    if use.name == BROUGHT:
        return "brought"
    return test_words(sheet, use.arguments) if use.name == FAIL_SAFE else ""


def counted_runs(job: Job, step: Step, attempt: Attempt, use: ProcedureUse) -> tuple[Run, ...]:
    """The runs of this procedure that were judged in this attempt at the step: finished, or failed."""
    return tuple(
        run
        for run in job.runs.values()
        if run.begun.step == step.id
        and _is_of(run, use)
        and run.n > attempt.begun_n
        and run.ended is not None
        and not run.voided_by
        and any(_counts(run.ended.how, Verdict(decided.verdict)) for decided in run.results)
    )


def _counts(how: str, verdict: Verdict) -> bool:
    """A failure counts however the run ended: nobody repeats until it passes."""
    return verdict is Verdict.FAIL or (how == "finished" and verdict.counts_as_done)


def open_run(job: Job) -> Run | None:
    """The motion that is open now, if any."""
    return next((run for run in job.runs.values() if run.ended is None), None)


def longest_s(sheet: Sheet, use: ProcedureUse) -> float:
    """The longest one run may take, from the unit's own time-outs; what the procedure itself says is checked again."""
    if use.name in LOOKS:
        return 0.0  # nothing moves: it takes as long as people take
    if use.name == PULSE:
        return PULSE_S
    if use.name in WATCHES_MONITOR:
        return MONITOR_S
    protections = sheet.protections
    if use.name == "span":
        return _span_s(sheet, use)
    if use.name in _WATCHED_FOR:
        return _watched_s(sheet, use)
    if use.name == "partial_stroke" and sheet.partial_stroke is not None:
        return TRIES * STEADY_S + sheet.partial_stroke.guard_time_s + 1.5 * sheet.partial_stroke.back_s + SETTLE_S
    by_direction = {"open": protections.travel_timeout_open_s, "closed": protections.travel_timeout_close_s}
    either = max(by_direction.values())
    return by_direction.get(use.arguments.get("direction", ""), either) + SETTLE_S


def _span_s(sheet: Sheet, use: ProcedureUse) -> float:
    """A span that this unit does not allow is refused where it is begun, with its reason."""
    try:
        return span_longest_s(sheet, use.arguments)
    except ValueError:
        return SETTLE_S


_WATCHED_FOR: Mapping[str, Callable[[Sheet, Mapping[str, str]], float]] = {
    "hold": lambda _sheet, arguments: hold_s(arguments),
    "small_steps": lambda _sheet, arguments: follow_s(arguments),
    "slow_ramp": lambda _sheet, arguments: follow_s(arguments),
    "step_response": lambda _sheet, arguments: follow_s(arguments),
    FAIL_SAFE: fail_safe_longest_s,
    "panel_acts": panel_acts_longest_s,
    "set_points": set_points_longest_s,
    "protection": lambda _sheet, _arguments: PROTECTION_S,
    "protection_timed": lambda _sheet, _arguments: PROTECTION_S,
    BROUGHT: brought_longest_s,
}
"""Procedures that only watch, for as long as the checklist says, or people take."""


def _watched_s(sheet: Sheet, use: ProcedureUse) -> float:
    """Arguments without a time are refused where it is begun, with the reason."""
    try:
        return _WATCHED_FOR[use.name](sheet, use.arguments) + SETTLE_S
    except ValueError:
        return SETTLE_S


def step_longest_s(sheet: Sheet, step: Step) -> float:
    """The longest single movement of a step; 0 where it commands none."""
    return max((longest_s(sheet, use) for use in step.procedures), default=0.0)


def _is_of(run: Run, use: ProcedureUse) -> bool:
    """A run may carry arguments of its own besides those of the checklist."""
    fixed = {name: text for name, text in use.arguments.items() if not text.startswith(FROM)}
    return run.begun.procedure == use.name and fixed.items() <= dict(run.begun.arguments).items()
