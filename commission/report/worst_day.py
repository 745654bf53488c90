"""The worst-day sentence of page one: today's strokes carried to the sheet's coldest, lowest and heaviest."""

from commission.engineering.unit import REFERENCE_C, Unit
from commission.engineering.worst_day import Measured, WorstDay, sentence, worst_day
from commission.figure import Figure, Verdict
from commission.job import state
from commission.job.motions import Run
from commission.job.steps import StepState
from commission.report.strokes import CLOSING, OPENING, by_direction
from commission.sheet import End

_TOWARDS = {OPENING: End.OPEN, CLOSING: End.CLOSED}
_PLACES = {"running_pressure_25_pct": 0.25, "running_pressure_50_pct": 0.5, "running_pressure_75_pct": 0.75}
_TIMES = ("motion_time", "response_time", "traverse_time")
"""The first of these that a run has is the time that is carried: dead time errs on the slow side."""


def worst_day_sentence(job: state.Job) -> str:
    """
    One sentence, or nothing where no stroke stands or the sheet does not give enough.

    Oil temperature and supply voltage are those of the strokes themselves, or the last that was read for a question;
    where none was, 20 °C and the rated supply are taken, and the sentence says so.
    """
    try:
        unit = Unit(job.sheet)
        days = [_day(job, unit, _TOWARDS[name], runs) for name, runs in by_direction(job).items() if name in _TOWARDS]
    except ValueError:  # a sheet that contradicts itself says nothing of its worst day
        return ""
    return sentence(tuple(day for day in days if day is not None), taken(job))


def taken(job: state.Job) -> str:
    """Today's oil and supply in words: as read, or what is taken for them."""
    oil_c, volts = oil_today(job), volts_today(job)
    oil = f"oil taken as {REFERENCE_C:g} °C" if oil_c is None else f"oil {oil_c:.3g} °C"
    if job.sheet.supply.phases != "DC":
        return f"today's {oil}"
    return f"today's {oil}, supply {'taken as rated' if volts is None else f'{volts:.3g} V'}"


def oil_today(job: state.Job, run: Run | None = None) -> float | None:
    """Oil temperature in °C: of this run, else of the latest stroke that has it, else as read for a question."""
    found = (None if run is None else run.figure("oil_temperature")) or _latest(job, "oil_temperature")
    return read_today(job, "oil_temperature") if found is None else float(found.decimal)


def volts_today(job: state.Job) -> float | None:
    """Volts at the terminals while the motor ran in the latest stroke that has them, else as read for a question."""
    found = _latest(job, "supply_running")
    return read_today(job, "supply_voltage") if found is None else float(found.decimal)


def _latest(job: state.Job, name: str) -> Figure | None:
    found = (run.figure(name) for run in sorted(job.runs.values(), key=lambda run: -run.n) if not run.voided_by)
    return next((figure for figure in found if figure is not None), None)


def read_today(job: state.Job, role: str) -> float | None:
    """The last reading of a role that the program took for a question of the checklist, in the question's unit."""
    found = None
    for step in job.checklist.steps:
        last = job.steps.get(step.id, StepState()).last
        for question in step.questions:
            given = None if last is None else last.answers.get(question.id)
            if question.role == role and given is not None:
                found = given.answered.value
    return found


def _day(job: state.Job, unit: Unit, towards: End, runs: tuple[Run, ...]) -> WorstDay | None:
    standing = [run for run in runs if not run.voided_by and _seconds(run) is not None and not _stopped(run)]
    if not standing:
        return None
    run = standing[-1]
    oil_c = oil_today(job, run)
    measured = Measured(
        towards=towards,
        time_s=_seconds(run) or 0.0,
        pressures_pa=_pressures(run, towards),
        oil_c=REFERENCE_C if oil_c is None else oil_c,
        speed_share=_speed_share(job),
    )
    return worst_day(unit, measured)


def _speed_share(job: state.Job) -> float:
    """
    Share of rated speed that today's volts gave a direct-current motor; others hardly follow their volts.

    More than rated volts make it faster than rated: what they gave today is not there at the lowest supply. A unit that
    holds its motor at rated speed is then told slower than it will be, which errs on the safe side.
    """
    volts = volts_today(job)
    return 1.0 if volts is None or volts <= 0 or job.sheet.supply.phases != "DC" else volts / job.sheet.supply.motor_v


def _stopped(run: Run) -> bool:
    return any(result.verdict == Verdict.STOPPED for result in run.results) or run.ended is None


def _seconds(run: Run) -> float | None:
    """The whole time of a stroke; a time that is only "at least" is no time."""
    for name in _TIMES:
        figure = run.figure(name)
        if figure is not None and not figure.lower_bound_only:
            return float(figure.decimal)
    return None


def _pressures(run: Run, towards: End) -> tuple[tuple[float, float], ...]:
    """Pressures while moving, by travel: at a quarter, half and three quarters, or at both ends of motion."""
    found = [(place, run.figure(name)) for name, place in _PLACES.items()]
    start, end = (0.0, 1.0) if towards is End.OPEN else (1.0, 0.0)
    if not any(figure for _, figure in found):
        found = [(start, run.figure("pressure_at_start")), (end, run.figure("pressure_at_end"))]
    return tuple((place, float(figure.decimal)) for place, figure in found if figure is not None)
