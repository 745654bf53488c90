"""How steps, prompts and motions read as plain lines of at most 80 columns."""

import textwrap
from datetime import datetime

from commission.analysis.decision import can_decide, stroke_limits
from commission.analysis.span import LARGEST
from commission.analysis.timing import limits_of, predicted_stroke_uncertainty
from commission.checklist import ProcedureUse, SignalWord, Step
from commission.clock import NS_PER_S
from commission.engineering.beside import computed_in_words
from commission.face.span_table import span_table
from commission.job.motions import Run
from commission.job.state import Job
from commission.link.plan import cycle_time_s, plan_for
from commission.link.unit import UnitLink
from commission.procedures.catalogue import CATALOGUE, direction_of
from commission.procedures.full_stroke import WATCHED
from commission.procedures.requests import Begin, SafeEnd
from commission.procedures.span_plan import outlook, span_plan
from commission.report.display import shown, shown_limit
from commission.supervise.order import MotionView
from commission.walk import gate, route
from commission.walk.budget import budget
from commission.walk.confirm import Confirmation
from commission.walk.judgement import limits_in_words
from commission.walk.movement import MotionTest, arguments_of
from commission.walk.prompts import (
    Accept,
    Ask,
    BeginStep,
    Conclude,
    ConfirmMovement,
    Cross,
    Evidence,
    Prompt,
    TakeOff,
)
from commission.walk.state_line import danger, permit_words, state_line

WIDTH = 80
RULE = "-" * WIDTH


def labelled(label: str, text: str, width: int = WIDTH) -> list[str]:
    """A label and its text, wrapped and indented."""
    return textwrap.wrap(f"{label:<8} {text}", width, subsequent_indent=" " * 9) if text else []


def step_lines(job: Job, step: Step, now: datetime) -> list[str]:
    """A step as it is entered: where it stands, its cautions first, then what to do."""
    state = f"{job.tag}  {state_line(job)}"
    permit = permit_words(job, now)
    progress = next((p for p in route.progress(job) if p.id == step.phase), None)
    counted = "" if progress is None else f"{progress.name} {progress.done}/{progress.of} done"
    title = f"{step.id}  {step.title}"
    return [RULE, *_two_sided(state, permit), *_two_sided(title, counted), *step_body(job, step)]


def title_line(job: Job, step: Step, width: int) -> str:
    """Id and title of a step; behind it which attempt this is, where an earlier one was made void or did not pass."""
    state = job.steps.get(step.id)
    attempts = () if state is None else state.attempts
    past = [attempt for attempt in attempts if not attempt.is_open]
    repeat = ""
    if past:
        repeat = f" REPEAT, void: {past[-1].voided_by}" if past[-1].voided_by else f" again, was: {past[-1].verdict}"
    title = f"{step.id}  {step.title}"
    room = width - min(len(repeat), width // 2)
    return textwrap.shorten(title, room, placeholder=" …") + repeat[: width // 2]


def step_body(job: Job, step: Step, width: int = WIDTH) -> list[str]:
    """The cautions of a step first, then what to do, why, what a fault looks like, and what to say."""
    lines = _caution_lines(job, step, width)
    for label, text in (("Do", step.do), ("Why", step.why), ("Fault", step.fault), ("Say", step.say)):
        lines += labelled(label, text, width)
    return lines


def confirm_lines(job: Job, step: Step, prompt: ConfirmMovement) -> list[str]:
    """What a movement's confirmation shows: its cautions, never the tag nor the count (safety rule R13)."""
    return [RULE, *_caution_lines(job, step, WIDTH), *prompt_lines(prompt)]


def _caution_lines(job: Job, step: Step, width: int) -> list[str]:
    lines = labelled("DANGER", danger(job).removeprefix("DANGER").strip(), width)
    cautions = [job.checklist.cautions[name] for name in step.cautions]
    for caution in sorted(cautions, key=lambda one: list(SignalWord).index(one.word)):
        lines += labelled(caution.word, caution.text, width)
    return lines


def _two_sided(left: str, right: str) -> list[str]:
    """One at each side of a line; under each other where they do not fit."""
    if len(left) + len(right) < WIDTH:
        return [f"{left:<{WIDTH - len(right)}}{right}".rstrip()]
    return [*textwrap.wrap(left, WIDTH), *([f"{right:>{WIDTH}}"] if right else [])]


def prompt_lines(prompt: Prompt, width: int = WIDTH) -> list[str]:
    """What a prompt asks, with what is expected beside it; never what rule R13 wants typed unseen."""
    match prompt:
        case BeginStep():
            return ["Ready?"]
        case Ask():
            return _question_lines(prompt, width)
        case TakeOff(item=item):
            added = item.added
            return textwrap.wrap(f"Off the temporary list: {added.id} {added.what} at {added.where}", width)
        case Accept(deviation=deviation):
            raised = deviation.raised
            return textwrap.wrap(f"Deviation {raised.id}: {raised.found} (required: {raised.required})", width)
        case Cross(target=target, enter=enter):
            said = "All evidence is in. Is the unit now" if enter else "Begin to bring the unit to"
            return [f"{said} {target.upper()}?"]
        case Evidence(need=need, left=left):
            return textwrap.wrap(f"{need.words}.{_regulation(need.clause)} ({left} left)", width)
        case ConfirmMovement(test=test, kind=kind):
            return textwrap.wrap(f"{test.name}: {_what_is_confirmed(test, kind)}", width)
        case Conclude():
            return ["Everything of this step is recorded."]
    return []


def _what_is_confirmed(test: MotionTest, kind: Confirmation) -> str:
    if not test.longest_s:
        return "begin to watch; nothing moves, nothing is commanded"
    if kind is Confirmation.FULL:
        return "confirm this movement in full"
    return "confirm this movement" if test.direction else "confirm that it begins"


def _regulation(clause: str) -> str:
    """Where 29 CFR 1910 asks for it, as ` [29 CFR 1910.147(d)(6)]`; a number of our own rules tells nobody anything."""
    named = [part for part in clause.split(", ") if part and not part.startswith("rule ")]
    whole = [part if part.startswith("1910.") else f"1910.147{' ' if part[0] != '(' else ''}{part}" for part in named]
    return f" [29 CFR {', '.join(whole)}]" if whole else ""


def _question_lines(prompt: Ask, width: int) -> list[str]:
    question = prompt.question
    lines = textwrap.wrap(question.ask, width)
    limited = bool(question.least or question.most)
    if limited or not question.stops:  # what is expected of a plate is not shown where a wrong plate must be seen
        lines += labelled("Limit" if limited else "Expect", limits_in_words(question, prompt.expected), width)
    return lines


def outlook_lines(job: Job, step: Step, link: UnitLink, width: int = WIDTH) -> list[str]:
    """Whether this line, or this meter, can decide the step's limits at all, said before the movement."""
    lines = []
    for use in step.procedures:
        if use.name == "full_stroke":
            lines += _stroke_outlook(job, use, link, width)
        elif use.name == "partial_stroke":
            lines += _partial_outlook(job, width)
        elif use.name == "span":
            lines += _span_outlook(job, step, use, width)
    return list(dict.fromkeys(lines))


def budget_lines(job: Job, step: Step, now: datetime, width: int = WIDTH) -> list[str]:
    """What is left to move with, at a step that moves the valve; nothing at any other."""
    return labelled("Left", budget(job, now).line, width) if gate.moves(step) else []


def _stroke_outlook(job: Job, use: ProcedureUse, link: UnitLink, width: int) -> list[str]:
    limits = limits_of(job.sheet, direction_of(use.arguments))
    roles = [role for role in WATCHED if job.sheet.has(role)]
    plan = plan_for(job.sheet, roles, link.facts.unit_id)
    speed = 1.0 if link.facts.practice is None else link.facts.practice.speed
    exchange_s = link.facts.round_trip.p50_s
    cycle_s = max(cycle_time_s(plan, job.sheet.link), exchange_s * len(plan.blocks)) * speed
    uncertainty_s = predicted_stroke_uncertainty(
        cycle_s, exchange_s / 2 * speed, job.sheet.link.scan_s, limits.measured_as
    )
    outlook = can_decide(limits.expected_s, stroke_limits(limits), uncertainty_s)
    expected = f"{limits.shortest_s:g} to {limits.longest_s:g} s, about {limits.expected_s:g} s ({limits.origin})"
    computed = computed_in_words(job.sheet, direction_of(use.arguments))
    expected += f"; computed {computed}" if computed else ""
    return [
        *labelled("Expect", f"{use.arguments['direction']}: {expected}", width),
        *labelled("Decides", outlook.text, width),
    ]


def _partial_outlook(job: Job, width: int) -> list[str]:
    """How far and how long, who turns it round, and what the unit's own guard does."""
    plan = job.sheet.partial_stroke
    if plan is None:
        return []
    expected = f"{plan.target_pct:g} % in {plan.out_s:g} s, back in {plan.back_s:g} s, turned by the {plan.turned_by}"
    kept = job.history.baseline
    against = "" if kept is None else f", held against baseline {kept.set.baseline.id}"
    own = f"unit's own guard {plan.guard_travel_pct:g} % and {plan.guard_time_s:g} s; a minute of standing still first"
    return [*labelled("Expect", f"{expected}{against}", width), *labelled("Guard", own, width)]


def _span_outlook(job: Job, step: Step, use: ProcedureUse, width: int) -> list[str]:
    """What is asked, what this unit does not allow, and whether the meter decides, once it is known."""
    try:
        plan = span_plan(job.sheet, arguments_of(job, step, use))
    except ValueError as error:
        return labelled("Not so", str(error), width)
    decided = outlook(plan)
    return [
        *labelled("Decides", "" if decided is None else decided.text, width),
        *labelled("Expect", f"±{plan.loop.limit_pct:g} % of span at {plan.ways} ({plan.loop.origin})", width),
        *[line for reason in plan.not_tested for line in labelled("", reason, width)],
    ]


def safe_end_of(job: Job, step: Step) -> SafeEnd | None:
    """The safe end of the step's movement, as its procedure names it; it is only asked, and not run."""
    begin = _begin_of(job, step)
    return SafeEnd.SEND_NOTHING if begin is None else begin.agreed_end


def returns_by_key(job: Job, step: Step) -> bool:
    """Whether in the step's movement the stop key stops and another one brings the valve back."""
    begin = _begin_of(job, step)
    return begin is not None and begin.stop_command is not None


def _begin_of(job: Job, step: Step) -> Begin | None:
    for use in step.procedures:
        procedure = CATALOGUE[use.name].start(job.sheet, {**arguments_of(job, step, use), "test": step.id})
        try:
            begin = next(procedure)
        except ValueError:
            continue  # it is refused where it is begun, with its reason
        procedure.close()
        if isinstance(begin, Begin):
            return begin
    return None


def motion_line(view: MotionView) -> str:
    """The motion now, in one line."""
    readings = view.latest
    if view.silence is not None:
        return textwrap.shorten(f"NO ANSWER, stay clear, look at the stem: {view.silence.reason}", WIDTH)
    if readings is None:
        return f"  {view.test}: waiting for the first reading"
    parts = [f"  {(readings.at_ns - view.begun_ns) / 1e9:6.1f} s"]
    travel, pressure = readings.value("travel"), readings.value("cylinder_pressure")
    if travel is not None:
        parts.append(f"travel {travel * 100:5.1f} %")
    if pressure is not None:
        parts.append(f"{pressure / 1e5:5.1f} bar")
    for role in ("feedback_current", "command_current"):
        current_a = readings.value(role)
        if current_a is not None:
            parts.append(f"{role.removesuffix('_current')} {current_a * 1e3:.2f} mA")
    return "  ".join([*parts, "ending" if view.ending else view.command]).rstrip()


def held_line(view: MotionView, wire_ns: int) -> str:
    """After the stop key in a partial stroke: that it stands off its end, and for how long R still brings it back."""
    if view.held_until_ns is None:
        return ""
    left_s = max(0, view.held_until_ns - wire_ns) // NS_PER_S
    return f"STOP confirmed: it stands off its end. R brings it back, for {left_s} s more; then with count and go."


def run_lines(run: Run) -> list[str]:
    """A finished run: measured beside limits, verdict, and what timed it."""
    ended = run.ended
    lines = []
    for result in run.results:
        figure = run.figure(result.figure)
        if figure is None:
            lines += labelled("Result", f"{result.test}: {result.verdict}; {result.rule}".rstrip("; "))
            continue
        value = shown(figure)
        bound = "at least " if figure.lower_bound_only else ""  # a stroke without its t0 says so (rule R19)
        low, high = (
            shown_limit(text, figure.name, figure.unit) or "…" for text in (result.limit_low, result.limit_high)
        )
        limits = f"{low} to {high} {value.unit}, {result.origin}"
        lines += labelled(
            "Result",
            f"{result.test}: {bound}{value.value} ± {value.uncertainty} {value.unit}, {result.verdict} ({limits})",
        )
        lines += labelled("", result.settles)
        if figure.name == LARGEST:
            lines += labelled("", figure.note)
    lines += span_table(run)
    if ended is not None and ended.how != "finished":
        lines += labelled("Ended", f"{ended.how}: {ended.reason}; safe end {ended.safe_end}")
    return lines
