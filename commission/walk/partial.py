"""
What the walk knows of a partial stroke: what it is told, why it may not be made, and how a baseline comes to be.

What was agreed is asked in the step before it, under these ids: `starts_used`, `line_change`, `rest_h`.
"""

from collections.abc import Iterator, Mapping
from datetime import datetime

import msgspec

from commission.analysis.baseline import ENOUGH_RUNS, Baseline, BaselineRun
from commission.checklist import ProcedureUse
from commission.checklist.model import LOOKS, PULSE
from commission.figure import Verdict
from commission.job.bodies import BaselineSet
from commission.job.motions import Run
from commission.job.state import Job
from commission.procedures.fail_safe_plan import BROUGHT, FAIL_SAFE, goes_to_safety
from commission.procedures.partial_bounds import start_end
from commission.procedures.partial_told import Told, from_arguments
from commission.sheet import End
from commission.walk.acts import ActError
from commission.walk.refusal import Refusal

PARTIAL = "partial_stroke"
SEPARATOR = ";"


class Line(msgspec.Struct, frozen=True, kw_only=True):
    """What was measured of the line and read from the unit just before: times in wire time."""

    cycle_s: float
    latency_s: float
    speed: float = 1.0
    settings: Mapping[str, str] = {}
    oil_c: float | None = None
    supply_v: float | None = None


def told(job: Job, use: ProcedureUse, test: str, line: Line, now: datetime) -> Told:
    """
    What a partial stroke of this job is told.

    Args:
        job: Where the visit stands.

        use: The checklist's use of the procedure; `compared = "no"` leaves the baseline out.

        test: Names the run.

        line: Measured and read just before.

        now: UTC.

    Raises:
        ValueError: the checklist's arguments are not what they should be.
    """
    given = from_arguments({**use.arguments, "test": test})
    kept = job.history.baseline
    baseline = None if kept is None or use.arguments.get("compared") == "no" else kept.set.baseline
    apart = "" if baseline is None else _apart(job, baseline, line)
    starts = _answered(job, "starts_used")
    return msgspec.structs.replace(
        given,
        cycle_s=round(line.cycle_s, 4),
        latency_s=round(line.latency_s, 4),
        speed=line.speed,
        rest_h=rest_h(job, now),
        starts_used=None if starts is None else int(starts),
        line_change_bar=_answered(job, "line_change"),
        baseline=baseline,
        apart=apart,
        settings=line.settings,
        oil_c=line.oil_c,
        supply_v=line.supply_v,
    )


def refusal(job: Job, arguments: Mapping[str, str]) -> Refusal | None:
    """Why no partial stroke may be made now, by what the record holds; None where it may."""
    if job.sheet.valve.normally_closed_vent:
        return Refusal("A partial stroke of a normally closed vent is refused: it would vent the line")
    if job.sheet.partial_stroke is None:
        return Refusal("The sheet has no partial stroke")
    if not return_proved(job):
        return Refusal("The way back is not proved: no stroke by the pump is recorded", "Make a full stroke back first")
    if arguments.get("compared") == "yes" and job.history.baseline is None:
        return Refusal("There is no baseline to compare with", "Make the baseline first, or begin from the job with it")
    return None


def return_proved(job: Job) -> str:
    """Which run proved the way back: a stroke to the start end that came home, here or before; empty where none did."""
    end = start_end(job.sheet)
    for run in reversed(list(job.runs.values())):
        finished = run.ended is not None and run.ended.how == "finished" and not run.voided_by
        way_back = run.begun.arguments.get("direction") == end or run.begun.procedure == PARTIAL
        if finished and way_back and any(Verdict(result.verdict).is_good for result in run.results):
            return f"{run.begun.test}, {run.at_utc[:10]}"
    earlier, kept = job.history.earlier, job.history.baseline
    if earlier is not None and earlier.returned:
        return earlier.returned
    return "" if kept is None else f"the strokes of baseline {kept.set.baseline.id}"


def rest_h(job: Job, now: datetime) -> float | None:
    """Hours since the valve moved last, as far as it is known: from the record, else as somebody said."""
    moved = [*_moved_by_runs(job), *_moved_by_steps(job)]
    if moved:
        return round((now - datetime.fromisoformat(max(moved))).total_seconds() / 3600, 3)
    return _answered(job, "rest_h")


def is_first_safety_movement(job: Job, use: ProcedureUse) -> bool:
    """Whether this is a re-test's first movement in the safety direction: its as-found stroke (safety rule R21)."""
    if job.history.earlier is None or not _to_safety(job, use.name, use.arguments):
        return False
    return not any(_to_safety(job, run.begun.procedure, run.begun.arguments) for run in job.runs.values())


def baseline_of(job: Job, settled_by: str) -> BaselineSet:
    """
    A baseline from the partial strokes of this job that stand.

    Args:
        job: Where the visit stands.

        settled_by: Who signs; where there is a baseline already, `name; reason`.

    Raises:
        ActError: too few runs stand, nobody signs, or the reason to renew it is missing.
    """
    name, _, reason = (part.strip() for part in settled_by.partition(SEPARATOR))
    if not name:
        raise ActError("who signs for the baseline, as: P. Exampler")
    known = job.history.baselines
    if known and not reason:
        raise ActError("a baseline is renewed only with its reason, as: P. Exampler; packing replaced")
    runs = _standing(job)
    if len(runs) < ENOUGH_RUNS:
        raise ActError(f"a baseline takes {ENOUGH_RUNS} partial strokes that passed; {len(runs)} stand")
    last = from_arguments(runs[-1].begun.arguments)
    plan = job.sheet.partial_stroke
    baseline = Baseline(
        id=f"B{1 + len(known)}",
        runs=tuple(_as_baseline(run) for run in runs),
        serial=job.sheet.identity.serial,
        settings=dict(last.settings),
        oil=job.sheet.fluid.name,
        path="" if plan is None else plan.path,
        oil_c=last.oil_c,
    )
    return BaselineSet(baseline=baseline, signed_by=name, reason=reason)


def _apart(job: Job, baseline: Baseline, line: Line) -> str:
    plan = job.sheet.partial_stroke
    path = "" if plan is None else plan.path
    return baseline.apart(job.sheet.identity.serial, line.settings, job.sheet.fluid.name, path)


def _standing(job: Job) -> list[Run]:
    """Whole partial strokes that passed, and that nothing has made void since."""
    return [
        run
        for run in job.runs.values()
        if run.begun.procedure == PARTIAL
        and "turn_at_pct" not in run.begun.arguments
        and not run.voided_by
        and run.figures
        and any(Verdict(result.verdict).is_good for result in run.results)
    ]


def _as_baseline(run: Run) -> BaselineRun:
    values = {figure.name: (figure.value, figure.expanded_uncertainty) for figure in run.figures}
    told = from_arguments(run.begun.arguments)
    return BaselineRun(run.begun.run, run.at_utc, told.rest_h, values, told.oil_c, told.supply_v)


def _answered(job: Job, question: str) -> float | None:
    """The latest answer to a question of this id, whichever step asked it."""
    given = [
        answer
        for state in job.steps.values()
        for attempt in state.attempts
        if (answer := attempt.answers.get(question)) is not None and answer.answered.value is not None
    ]
    return max(given, key=lambda answer: answer.at_utc).answered.value if given else None


def _moved_by_runs(job: Job) -> Iterator[str]:
    for run in job.runs.values():
        by_people = run.begun.procedure in (FAIL_SAFE, BROUGHT, "panel_acts")
        if by_people or (run.begun.procedure != PULSE and run.begun.procedure not in LOOKS and run.sent):
            yield run.at_utc


def _moved_by_steps(job: Job) -> Iterator[str]:
    """A step in which people move the valve themselves counts from its end."""
    moving = {step.id for step in job.checklist.steps if step.moves and not step.procedures}
    for name, state in job.steps.items():
        if name in moving:
            yield from (attempt.concluded_utc for attempt in state.attempts if attempt.concluded_utc)


def _to_safety(job: Job, procedure: str, arguments: Mapping[str, str]) -> bool:
    safety = End.CLOSED if start_end(job.sheet) is End.OPEN else End.OPEN
    if procedure == FAIL_SAFE:
        return goes_to_safety(job.sheet, arguments)
    return procedure == PARTIAL or arguments.get("direction") == safety
