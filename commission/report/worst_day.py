"""The worst-day sentence of page one: today's strokes carried to the sheet's coldest, lowest and heaviest."""

from commission.engineering.unit import Unit
from commission.engineering.worst_day import Measured, WorstDay, sentence, worst_day
from commission.figure import Verdict
from commission.job import state
from commission.job.motions import Run
from commission.report.strokes import CLOSING, OPENING, by_direction
from commission.sheet import End

_TOWARDS = {OPENING: End.OPEN, CLOSING: End.CLOSED}
_PLACES = {"running_pressure_25_pct": 0.25, "running_pressure_50_pct": 0.5, "running_pressure_75_pct": 0.75}
TAKEN = "today's oil taken as 20 °C, supply as rated"
"""What a job does not record of its strokes yet, and the computation has to assume."""

_TIMES = ("motion_time", "response_time", "traverse_time")
"""The first of these that a run has is the time that is carried: dead time errs on the slow side."""


def worst_day_sentence(job: state.Job) -> str:
    """
    One sentence, or nothing where no stroke stands or the sheet does not give enough.

    The oil of today's strokes is taken as 20 °C and their supply as rated, and the sentence says so.
    """
    try:
        unit = Unit(job.sheet)
        days = [_day(unit, _TOWARDS[name], runs) for name, runs in by_direction(job).items() if name in _TOWARDS]
    except ValueError:  # a sheet that contradicts itself says nothing of its worst day
        return ""
    return sentence(tuple(day for day in days if day is not None), TAKEN)


def _day(unit: Unit, towards: End, runs: tuple[Run, ...]) -> WorstDay | None:
    standing = [run for run in runs if not run.voided_by and _seconds(run) is not None and not _stopped(run)]
    if not standing:
        return None
    run = standing[-1]
    return worst_day(
        unit, Measured(towards=towards, time_s=_seconds(run) or 0.0, pressures_pa=_pressures(run, towards))
    )


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
