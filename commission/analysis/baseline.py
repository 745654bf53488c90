"""
The baseline of a partial stroke: the runs it is made of, the band that each figure is held against, the comparison.

A baseline belongs to a unit as it stood: to its serial, its settings, its oil. With another of these nothing is
compared. A band is where a healthy unit is expected to stay; leaving it is no failure, but goes on the watch list.
"""

import math
from collections.abc import Iterable, Mapping
from decimal import Decimal

import msgspec

from commission.analysis.bands import Conditions, Kind, Run
from commission.analysis.bands import band as usual_band
from commission.analysis.corrections import ALIKE_C, Correction, Corrector
from commission.analysis.decision import Limits
from commission.figure import Figure, Verdict

RESTED_H = 12.0
"""A run after at least so many hours at rest is a rested one (safety rule R21)."""

ENOUGH_RUNS = 3
"""Runs that a baseline is made of, at least (common practice, no source)."""

LEAST_TIME_S = 0.2

ON_THE_WAY = ("out_time_", "back_time_")
"""Times to a travel on the way: shown beside their band; what is judged is the whole way and the speed."""

BREAKAWAY = "breakaway_pressure"
"""The one figure that changes with how long the valve has stood still (safety rule R21)."""

OUTSIDE = "outside the baseline band"
UNSURE = "not certainly inside the baseline band"
"""Why a figure is to be watched."""

_KINDS = {
    "time_to_target": Kind.TIME,
    "dead_time": Kind.TIME,
    "pressure_dead_time": Kind.TIME,
    "breakaway_delay": Kind.TIME,
    "return_time": Kind.TIME,
    "speed": Kind.SPEED,
    "final_travel": Kind.END_POSITION,
}


class BaselineRun(msgspec.Struct, frozen=True):
    """
    One run of a baseline.

    Args:
        run: Its id.

        at_utc: When it was made.

        rest_h: Hours that the valve had stood still before; None where nobody knows.

        values: By the figure's name, value and expanded uncertainty as decimal text, in the figure's SI unit.

        oil_c: Oil temperature just before, °C; None where it was not read.

        supply_v: Supply just before, V; None where it was not read.
    """

    run: str
    at_utc: str
    rest_h: float | None
    values: Mapping[str, tuple[str, str]]
    oil_c: float | None = None
    supply_v: float | None = None

    @property
    def conditions(self) -> Conditions:
        """What it was made under."""
        return Conditions(oil_c=self.oil_c, supply_v=self.supply_v, rest_h=self.rest_h)


class Baseline(msgspec.Struct, frozen=True, kw_only=True):
    """
    What later partial strokes are compared with; replaced only by a signed decision, and then kept.

    Args:
        id: As `B1`.

        runs: Three at least.

        serial: Of the unit.

        settings: The unit's settings by role, as text, as they were read back.

        oil: Name of the fluid.

        path: By which path the oil went out.

        oil_c: Oil temperature of its runs, °C; None where it was not read.
    """

    id: str
    runs: tuple[BaselineRun, ...]
    serial: str
    settings: Mapping[str, str]
    oil: str
    path: str
    oil_c: float | None = None

    @property
    def has_rested_run(self) -> bool:
        """Whether a run was made after twelve hours at rest."""
        return any(is_rested(run.rest_h) for run in self.runs)

    def values(self, figure: str, rest_h: float | None = None) -> tuple[float, ...]:
        """The figure in each run that has it; for breakaway only in runs after a like rest."""
        return tuple(float(run.values[figure][0]) for run in self.runs_with(figure, rest_h))

    def runs_with(self, figure: str, rest_h: float | None = None) -> tuple[BaselineRun, ...]:
        """The runs that have the figure; for breakaway only those after a like rest."""
        runs = self.runs if figure != BREAKAWAY else tuple(run for run in self.runs if _like(run.rest_h, rest_h))
        return tuple(run for run in runs if figure in run.values)

    def oil_apart(self, oil_c: float | None) -> bool:
        """Whether the oil is so much warmer or colder that only what is corrected for it may be compared."""
        return self.oil_c is not None and oil_c is not None and abs(oil_c - self.oil_c) > ALIKE_C

    def apart(self, serial: str, settings: Mapping[str, str], oil: str, path: str) -> str:
        """Why nothing may be compared with it: what differs, with both values; empty where nothing does."""
        pairs = [("serial", self.serial, serial), ("oil", self.oil, oil), ("path", self.path, path)]
        names = sorted(self.settings.keys() | settings.keys())
        pairs += [(name.replace("_", " "), self.settings.get(name, ""), settings.get(name, "")) for name in names]
        return "; ".join(
            f"{name} was {was or 'not read'}, is {now or 'not read'}" for name, was, now in pairs if was != now
        )


class Compared(msgspec.Struct, frozen=True, kw_only=True):
    """
    One figure beside its baseline; texts are decimal and in the figure's SI unit.

    Args:
        figure: Its name.

        baseline: Mean of the baseline, empty where there is none to compare with.

        low: Lower end of the band, or empty.

        high: Upper end.

        verdict: Pass inside; pass, watch where it is outside or not certainly inside; not decided; empty where the
            figure has no band, or one that is only shown.

        why: In words, where it is no pass.

        corrected: What was added to the baseline for other conditions; empty where nothing was.

        conditions: From which conditions to which, in words; empty where nothing was corrected.
    """

    figure: str
    baseline: str = ""
    low: str = ""
    high: str = ""
    verdict: str = ""
    why: str = ""
    corrected: str = ""
    conditions: str = ""


def is_rested(rest_h: float | None) -> bool:
    """Whether so many hours at rest make a rested run."""
    return rest_h is not None and rest_h >= RESTED_H


def band(figure: str, values: tuple[float, ...], doubt: float = 0.0) -> Limits | None:
    """
    The band of a figure, in its SI unit, by `analysis.bands`; None where the figure has none, or no baseline value.

    A time is never held closer than 0.2 s: below that, polling and scan are what differs (common practice, no source).

    Args:
        figure: Its name.

        values: Of the baseline's runs, brought to the conditions of now.

        doubt: What that leaves uncertain, on either side: it is the same for all runs and does not average out.
    """
    kind = kind_of(figure)
    if kind is None or not values:
        return None
    found = usual_band([Run(value) for value in values], kind)
    half = doubt + (max(found.half_width, LEAST_TIME_S) if kind is Kind.TIME else found.half_width)
    return Limits(_text(found.mean - half), _text(found.mean + half))


def kind_of(figure: str) -> Kind | None:
    """What sort of band a figure has; None where it is for information."""
    if figure == BREAKAWAY or figure.startswith(("out_pressure_", "back_pressure_")):
        return Kind.BREAKAWAY_PRESSURE
    if figure.startswith(ON_THE_WAY):
        return Kind.TIME
    return _KINDS.get(figure)


def compare(
    figures: Iterable[Figure],
    baseline: Baseline,
    rest_h: float | None,
    apart: str = "",
    corrector: Corrector | None = None,
) -> tuple[Compared, ...]:
    """
    Each figure beside the baseline.

    Args:
        figures: Of one run.

        baseline: What it is held against.

        rest_h: Hours at rest before the run.

        apart: Why nothing may be compared; then each row is not decided.

        corrector: Brings the baseline's values to the conditions of the run; None to take them as they stand.
    """
    return tuple(_compared(figure, baseline, rest_h, apart, corrector) for figure in figures)


def _compared(
    figure: Figure, baseline: Baseline, rest_h: float | None, apart: str, corrector: Corrector | None
) -> Compared:
    runs = baseline.runs_with(figure.name, rest_h)
    found = [
        Correction() if corrector is None else corrector(figure.name, float(run.values[figure.name][0]), run.conditions)
        for run in runs
    ]
    values = tuple(float(run.values[figure.name][0]) + one.change for run, one in zip(runs, found, strict=True))
    if figure.name == BREAKAWAY and not values:
        why = f"baseline {baseline.id} has no run after a like rest"
        return Compared(figure=figure.name, verdict=Verdict.NOT_DECIDED, why=why)
    mean = _text(math.fsum(values) / len(values)) if values else ""
    limits = band(figure.name, values, max((one.doubt for one in found), default=0.0))
    if limits is None or limits.low is None or limits.high is None:
        return Compared(figure=figure.name, baseline=mean)
    change = math.fsum(one.change for one in found) / len(found)
    row = Compared(
        figure=figure.name,
        baseline=mean,
        low=limits.low,
        high=limits.high,
        corrected=_text(change) if change else "",
        conditions=corrector.words(runs[-1].conditions) if change and corrector is not None else "",
    )
    if figure.name.startswith(ON_THE_WAY):
        return row
    if why_not := apart or next((one.why_not for one in found if one.why_not), ""):
        return msgspec.structs.replace(row, verdict=Verdict.NOT_DECIDED, why=why_not)
    guard, value = figure.uncertainty_decimal, figure.decimal
    low, high = Decimal(limits.low), Decimal(limits.high)
    if low + guard <= value <= high - guard:
        return msgspec.structs.replace(row, verdict=Verdict.PASS)
    outside = not low <= value <= high  # certain or not, it is the value that is told
    return msgspec.structs.replace(row, verdict=Verdict.PASS_WATCH, why=OUTSIDE if outside else UNSURE)


def _like(one_h: float | None, other_h: float | None) -> bool:
    """Rests are like where both are known and both are, or both are not, twelve hours."""
    return one_h is not None and other_h is not None and is_rested(one_h) is is_rested(other_h)


def _text(value: float) -> str:
    """Six significant digits: finer than any figure is known, and the same on every machine."""
    return format(Decimal(f"{value:.6g}"), "f")
