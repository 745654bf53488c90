"""How often 95 % intervals hold the truth, and how wide they are beside the narrowest that would."""

import random
from collections.abc import Callable, Sequence
from statistics import mean

from commission.figure import Figure

CASES = 2000
SOME = 400
"""For the default run, where a case costs a millisecond or more; the bound is then three standard deviations lower."""

FIRST_SEED = 50_000
LEAST = 0.935

Case = tuple[float, float]
"""Error and half-width of one case."""


def of(figure: Figure | None, truth: float) -> Case | None:
    """The error of a figure; a bound that holds has none."""
    if figure is None:
        return None
    assert figure.budget or not figure.uncertainty_decimal, figure.name
    error, half = figure.unrounded - truth, float(figure.expanded_uncertainty)
    if figure.lower_bound_only:
        return None if error <= half else (error, half)
    return error, half


def least_of(count: int) -> float:
    """93.5 %, and for fewer than 2,000 cases as much less as chance allows a right program (three deviations)."""
    spread = (LEAST * (1 - LEAST)) ** 0.5
    return LEAST - (0.0 if count >= CASES else 3 * spread * (count**-0.5 - CASES**-0.5))


def widest_of(count: int, widest: float) -> float:
    """The same of the mean width: the narrowest is an order statistic, which few cases leave uncertain."""
    return widest if count >= CASES else widest * (1 + 2 * count**-0.5)


def assert_held(cases: Sequence[Case], *, widest: float = 1.3) -> None:
    """
    At least 93.5 % hold the truth, and the mean width is at most 1.3 times the narrowest that holds 95 %.

    The narrowest of constant widths, or of widths in the same proportion from case to case.
    """
    covered = sum(abs(error) <= width for error, width in cases) / len(cases)
    place = round(0.95 * len(cases)) - 1
    constant = sorted(abs(error) for error, _ in cases)[place]
    in_proportion = sorted(abs(error) / width if width else 0.0 for error, width in cases)[place]
    width = mean(width for _, width in cases)
    said = f"{100 * covered:.1f} % of {len(cases)}, {width / max(constant, in_proportion * width):.2f} of the narrowest"
    assert covered >= least_of(len(cases)), said
    assert width <= widest_of(len(cases), widest) * max(constant, in_proportion * width), said


def made(case: Callable[[random.Random], Case | None], count: int) -> list[Case]:
    """So many seeded cases, without those whose figure was left out (at most two in five)."""
    found = [one for seed in range(count) if (one := case(random.Random(FIRST_SEED + seed))) is not None]
    assert len(found) >= 0.6 * count
    return found
