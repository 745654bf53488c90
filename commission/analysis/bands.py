"""
Baseline bands: what a figure of a unit should be, from its own earlier runs, and within what.

Below five baselines there is no telling how much a healthy unit varies, so wide usual bands stand in; from five on the
band is three standard deviations of them, and never narrower than a floor. Runs made with other oil temperature,
supply or pressure difference are brought to the conditions of the run that is compared, and what that leaves uncertain
widens the band. All of it is common practice, no source, but the statistics.
"""

import math
from collections.abc import Sequence
from enum import StrEnum

import msgspec

from commission.analysis.budget import Line, rectangular

ENOUGH_BASELINES = 5
"""From so many on the runs themselves say how wide the band is."""

SPREADS = 3
"""Standard deviations on either side."""

CORRECTION_DOUBT = 0.3
"""How far a correction itself may be wrong, as a share of it, where nothing better is given."""


class Kind(StrEnum):
    """What sort of figure a band is for; each has its usual width."""

    TIME = "time"
    BREAKAWAY_PRESSURE = "breakaway pressure"
    SPEED = "speed"
    END_POSITION = "end position"


class _Width(msgspec.Struct, frozen=True):
    """Half-width below five baselines: the smaller of a share and an absolute; and the floor from five on."""

    share: float = math.inf
    absolute: float = math.inf
    floor_share: float = 0.0
    floor_absolute: float = 0.0

    def usual(self, mean: float) -> float:
        return min(self.share * abs(mean) if math.isfinite(self.share) else math.inf, self.absolute)

    def floor(self, mean: float) -> float:
        return max(self.floor_share * abs(mean), self.floor_absolute)


_WIDTHS = {
    Kind.TIME: _Width(share=0.20, floor_share=0.10),
    Kind.BREAKAWAY_PRESSURE: _Width(share=0.15, absolute=5e5, floor_absolute=5e5),
    Kind.SPEED: _Width(share=0.20, floor_share=0.10),
    Kind.END_POSITION: _Width(absolute=0.005, floor_absolute=0.005),
}
"""Time ± 20 %, breakaway pressure ± 15 % or 5 bar, the smaller, speed ± 20 %, end position ± 0.5 % of travel; floors
from five baselines on: time and speed 10 %, pressure 5 bar, end position 0.5 %. Common practice, no source."""


class Conditions(msgspec.Struct, frozen=True, kw_only=True):
    """
    What a run was made under; None for what was not read.

    Args:
        oil_c: Oil temperature, °C.

        supply_v: Supply at the unit's terminals, V.

        pressure_difference_pa: Across the valve, Pa.

        rest_h: Hours at rest before the run.
    """

    oil_c: float | None = None
    supply_v: float | None = None
    pressure_difference_pa: float | None = None
    rest_h: float | None = None


class Corrections(msgspec.Struct, frozen=True, kw_only=True):
    """
    How a figure follows the conditions: its relative change for one unit of each.

    Args:
        per_oil_c: Per kelvin of oil temperature.

        per_supply_v: Per volt of supply.

        per_pressure_pa: Per pascal of pressure difference.

        doubt: How far they may be wrong, as a share of the correction.
    """

    per_oil_c: float = 0.0
    per_supply_v: float = 0.0
    per_pressure_pa: float = 0.0
    doubt: float = CORRECTION_DOUBT


NO_CORRECTIONS = Corrections()


class Run(msgspec.Struct, frozen=True):
    """One earlier value of a figure, in its unit, and the conditions it was measured under."""

    value: float
    conditions: Conditions = Conditions()


class Band(msgspec.Struct, frozen=True, kw_only=True):
    """
    Where a figure is expected.

    Args:
        mean: Mean of the corrected baselines, in the figure's unit.

        half_width: On either side of it, what the corrections leave uncertain included.

        count: How many baselines it is from.

        deviation: Experimental standard deviation of the corrected baselines; None of one alone.

        correction: Mean of what was added to the baselines, in the figure's unit.

        basis: In words, printed beside each comparison.
    """

    mean: float
    half_width: float
    count: int
    deviation: float | None
    correction: float
    basis: str

    @property
    def low(self) -> float:
        """Lower end."""
        return self.mean - self.half_width

    @property
    def high(self) -> float:
        """Upper end."""
        return self.mean + self.half_width

    def holds(self, value: float) -> bool:
        """Whether a value is within the band, ends included; what that means for a verdict is `decision`'s to say."""
        return self.low <= value <= self.high


def corrected(
    value: float, measured: Conditions, wanted: Conditions, corrections: Corrections = NO_CORRECTIONS
) -> tuple[float, tuple[Line, ...]]:
    """
    A value as it would have been under other conditions, and the budget lines that the correction adds.

    A condition that was not read on both sides is not corrected for.

    Args:
        value: In the figure's unit.

        measured: What it was measured under.

        wanted: What it is to be compared under.

        corrections: How it follows the conditions.
    """
    steps = (
        ("oil temperature", corrections.per_oil_c, measured.oil_c, wanted.oil_c),
        ("supply", corrections.per_supply_v, measured.supply_v, wanted.supply_v),
        (
            "pressure difference",
            corrections.per_pressure_pa,
            measured.pressure_difference_pa,
            wanted.pressure_difference_pa,
        ),
    )
    lines, changes = [], []
    for name, slope, was, is_now in steps:
        if was is None or is_now is None or slope == 0 or was == is_now:
            continue
        change = value * slope * (is_now - was)
        changes.append(change)
        lines.append(rectangular(f"correction for {name}", abs(change) * corrections.doubt))
    return math.fsum([value, *changes]), tuple(lines)


def band(
    runs: Sequence[Run],
    kind: Kind,
    conditions: Conditions = Conditions(),  # noqa: B008  # frozen
    corrections: Corrections = NO_CORRECTIONS,
) -> Band:
    """
    The band for a run made under these conditions.

    Args:
        runs: The baselines, in any order.

        kind: What sort of figure.

        conditions: Of the run that is compared.

        corrections: How the figure follows the conditions.

    Raises:
        ValueError: there is no baseline.

    Source: mean and experimental standard deviation, JCGM 100:2008, 4.2.1 and 4.2.2; the widths are common practice.
    """
    if not runs:
        raise ValueError("a band needs at least one baseline")
    brought = [corrected(run.value, run.conditions, conditions, corrections) for run in runs]
    values = [value for value, _ in brought]
    count = len(values)
    mean = math.fsum(values) / count
    deviation = math.sqrt(math.fsum((v - mean) ** 2 for v in values) / (count - 1)) if count > 1 else None
    # What a correction leaves uncertain is the same for all baselines, so it does not average out.
    doubt = max(math.fsum(line.width for line in lines) for _, lines in brought)
    width = _WIDTHS[kind]
    if count < ENOUGH_BASELINES or deviation is None:
        half = width.usual(mean)
        basis = f"usual band for {kind} until there are {ENOUGH_BASELINES} baselines (now {count})"
    else:
        half = max(SPREADS * deviation, width.floor(mean))
        basis = f"mean of {count} baselines and {SPREADS} standard deviations of them"
        if half > SPREADS * deviation:
            basis = f"mean of {count} baselines and the least width for {kind}"
    if doubt:
        basis += ", widened by what the corrections leave uncertain"
    correction = math.fsum(value - run.value for value, run in zip(values, runs, strict=True)) / count
    return Band(
        mean=mean, half_width=half + doubt, count=count, deviation=deviation, correction=correction, basis=basis
    )  # fmt: skip
