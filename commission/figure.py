"""
A figure: a measured number as it is printed, with its uncertainty and all that is needed to get it again.

A figure is stored as decimal text (uncertainty to two significant digits, the value to the same decimal place), so that
what was judged, printed and signed is exactly what is kept. The unrounded value is there for information only.
"""

from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Context, Decimal
from enum import StrEnum

import msgspec


class Verdict(StrEnum):
    """What can be said of a test. None of them is a blank."""

    PASS = "pass"  # noqa: S105  # a verdict
    PASS_AFTER_ADJUSTMENT = "pass after adjustment"  # noqa: S105  # a verdict
    PASS_WATCH = "pass, watch"  # noqa: S105  # a verdict
    FAIL = "fail"
    NOT_DECIDED = "not decided"
    SIMULATED = "simulated"
    NOT_TESTED = "not tested"
    NO_TEST = "no test (stopped before motion)"
    NOT_APPLICABLE = "not applicable"
    VOID = "void, repeat"
    STOPPED = "stopped"

    @property
    def counts_as_done(self) -> bool:
        """Whether the step needs no repeat for hand-over; a failure is done but makes a deviation."""
        return self not in (Verdict.VOID, Verdict.STOPPED, Verdict.NO_TEST)

    @property
    def is_good(self) -> bool:
        """Whether it is a kind of pass or rightly does not apply."""
        return self in (
            Verdict.PASS,
            Verdict.PASS_AFTER_ADJUSTMENT,
            Verdict.PASS_WATCH,
            Verdict.NOT_APPLICABLE,
        )


class BudgetLine(msgspec.Struct, frozen=True, kw_only=True):
    """
    One line of a figure's uncertainty budget, as it is printed; numbers are decimal text.

    Args:
        name: What the input is, in a technician's words.

        shape: Its distribution: rectangular, triangular, trapezoidal, normal or t.

        width: Half-width of a bounded input, standard uncertainty of another, in the input's unit.

        standard: Its standard uncertainty, in the same unit.

        sensitivity: Change of the figure for a change of one in the input.

        degrees_of_freedom: Empty where there are infinitely many.

        contribution: What it adds to the standard uncertainty of the figure, in the figure's unit.

        share_pct: Its share in the variance of the figure, in per cent.
    """

    name: str
    shape: str
    width: str
    standard: str
    sensitivity: str
    degrees_of_freedom: str
    contribution: str
    share_pct: str


class Figure(msgspec.Struct, frozen=True, kw_only=True):
    """
    One number with its expanded uncertainty.

    Args:
        name: What it is, as `response_time`.

        value: Decimal text, rounded to the place of `expanded_uncertainty`.

        expanded_uncertainty: Half-width of the 95 % interval, decimal text, two significant digits, rounded up.

        unit: SI unit symbol, or `1` for a ratio.

        method: Name of the function in `analysis` that computes it, with its version, as `timing.stroke/1`.

        unrounded: The value before rounding; information, never judged.

        lower_bound_only: True where only "at least this" is known (no t0): it can fail an upper limit, never pass one.

        note: What a reader has to know, as `between last seen moving and first seen home`.

        budget: The lines that the uncertainty was added up from; empty where it has no lines of its own.
    """

    name: str
    value: str
    expanded_uncertainty: str
    unit: str
    method: str
    unrounded: float
    lower_bound_only: bool = False
    note: str = ""
    budget: tuple[BudgetLine, ...] = ()

    @property
    def decimal(self) -> Decimal:
        """The value that is judged."""
        return Decimal(self.value)

    @property
    def uncertainty_decimal(self) -> Decimal:
        """The expanded uncertainty that is judged."""
        return Decimal(self.expanded_uncertainty)


_EXACT = Context(prec=1100)
"""Enough digits for the largest float beside the smallest; the usual 28 are not."""


def round_pair(value: float, expanded_uncertainty: float) -> tuple[str, str]:
    """
    Value and expanded uncertainty as decimal text: U to two significant digits, rounded up; the value to U's place.

    Raises:
        ValueError: either is not finite, or the uncertainty is negative.

    Source: JCGM 100:2008, 7.2.6 (two digits at most; rounding up keeps the interval from shrinking).
    """
    exact = Decimal(repr(float(expanded_uncertainty)))
    number = Decimal(repr(float(value)))
    if not (exact.is_finite() and number.is_finite()) or exact < 0:
        raise ValueError(f"not a measurable figure: {value} ± {expanded_uncertainty}")
    if exact == 0:
        return _text(number.normalize(_EXACT)), "0"
    place = exact.adjusted() - 1
    quantum = Decimal(1).scaleb(place)
    rounded = exact.quantize(quantum, ROUND_CEILING, _EXACT)
    if rounded.adjusted() != exact.adjusted():
        quantum = Decimal(1).scaleb(place + 1)
        rounded = rounded.quantize(quantum, ROUND_CEILING, _EXACT)
    return _text(number.quantize(quantum, ROUND_HALF_EVEN, _EXACT)), _text(rounded)


def _text(number: Decimal) -> str:
    """Plain decimal text; zero has no sign, because "-0.00" in a report is a riddle."""
    return format(number or number.copy_abs(), "f")


def make_figure(
    name: str,
    value: float,
    expanded_uncertainty: float,
    unit: str,
    method: str,
    *,
    lower_bound_only: bool = False,
    note: str = "",
) -> Figure:
    """
    A figure from a computed value and the half-width of its 95 % interval, both in `unit`.

    Raises:
        ValueError: as for `round_pair`.
    """
    text, uncertainty = round_pair(value, expanded_uncertainty)
    return Figure(
        name=name,
        value=text,
        expanded_uncertainty=uncertainty,
        unit=unit,
        method=method,
        unrounded=float(value),
        lower_bound_only=lower_bound_only,
        note=note,
    )
