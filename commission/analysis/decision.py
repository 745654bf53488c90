"""
The only place that says pass.

A figure is judged by its decimal text, exactly as it is printed, against limits that are decimal text too. The default
rule guards each limit by the expanded uncertainty: inside the guard band nothing is decided, and the decision says what
would settle it.
"""

from decimal import Decimal
from enum import StrEnum

import msgspec

from commission.analysis.quantiles import normal_below, two_sided_normal
from commission.figure import Figure, Verdict
from commission.sheet.model import StrokeLimits


class Rule(StrEnum):
    """The decision rule, agreed before measuring (ILAC-G8:09/2019, 4.2)."""

    GUARDED = "guarded"
    SIMPLE = "simple acceptance"


class Limits(msgspec.Struct, frozen=True):
    """
    Lower and upper limit as decimal text in the figure's unit; either may be missing, not both.

    Raises:
        ValueError: both are missing, one is not a number, or the lower is above the upper.
    """

    low: str | None = None
    high: str | None = None

    def __post_init__(self) -> None:
        """Refuse limits that nothing could be judged by."""
        if self.low is None and self.high is None:
            raise ValueError("at least one limit")
        for text in (self.low, self.high):
            if text is not None and not _is_number(text):
                raise ValueError(f"a limit as a plain number, not {text!r}")
        if self.low is not None and self.high is not None and Decimal(self.low) > Decimal(self.high):
            raise ValueError(f"the lower limit {self.low} not above the upper {self.high}")

    def __str__(self) -> str:
        if self.low is None:
            return f"at most {self.high}"
        return f"at least {self.low}" if self.high is None else f"{self.low} to {self.high}"


def stroke_limits(limits: StrokeLimits) -> Limits:
    """The sheet's limits of a stroke time, in seconds, as its text has them."""
    return Limits(str(limits.shortest_s), str(limits.longest_s))


class Decision(msgspec.Struct, frozen=True, kw_only=True):
    """
    A verdict with the rule it was reached by.

    Args:
        verdict: Pass, fail or not decided.

        rule_text: The rule in words, printed beside each verdict.

        limit_low: The lower limit, or None.

        limit_high: The upper limit, or None.

        accept_low: The least value that passes, or None.

        accept_high: The largest value that passes, or None.

        settles: For *not decided*, what would settle it; else empty.

        simple: What simple acceptance would say of the same figure, shown beside.

        outside_probability: That the true value is outside the limits: for a pass, the probability of false acceptance
            (JCGM 106:2012, 9.3.2); None where the figure has no uncertainty or is only a lower bound.

        ratio: Test uncertainty ratio; None with one limit only.
    """

    verdict: Verdict
    rule_text: str
    limit_low: str | None
    limit_high: str | None
    accept_low: str | None
    accept_high: str | None
    settles: str = ""
    simple: Verdict
    outside_probability: float | None
    ratio: float | None


_RULE_TEXT = {
    Rule.GUARDED: (
        "pass where the value is inside the limit by at least its 95 % uncertainty, fail where it is outside by more,"
        " between them not decided (guard band w = U, ILAC-G8:09/2019, 4.2.2)"
    ),
    Rule.SIMPLE: "pass where the value itself is within the limit (simple acceptance, ILAC-G8:09/2019, 4.2.1)",
}


def decide(figure: Figure, limits: Limits, rule: Rule = Rule.GUARDED) -> Decision:
    """
    The verdict on one figure.

    A figure that is only a lower bound can fail an upper limit and never passes (safety rule R19).

    Args:
        figure: Judged by its decimal value and uncertainty; the unrounded value plays no part.

        limits: In the figure's unit.

        rule: Default: guarded.
    """
    guard = figure.uncertainty_decimal if rule is Rule.GUARDED else Decimal(0)
    low, high = _decimal(limits.low), _decimal(limits.high)
    verdict = _verdict(figure, low, high, guard)
    return Decision(
        verdict=verdict,
        rule_text=_RULE_TEXT[rule],
        limit_low=limits.low,
        limit_high=limits.high,
        accept_low=None if low is None else _text(low + guard),
        accept_high=None if high is None else _text(high - guard),
        settles=_settles(figure, low, high) if verdict is Verdict.NOT_DECIDED else "",
        simple=_verdict(figure, low, high, Decimal(0)),
        outside_probability=_outside_probability(figure, limits),
        ratio=uncertainty_ratio(limits, float(figure.uncertainty_decimal)),
    )


def _verdict(figure: Figure, low: Decimal | None, high: Decimal | None, guard: Decimal) -> Verdict:
    value = figure.decimal
    too_high = high is not None and value > high + guard
    too_low = low is not None and value < low - guard and not figure.lower_bound_only
    if too_high or too_low:
        return Verdict.FAIL
    inside = (low is None or value >= low + guard) and (high is None or value <= high - guard)
    return Verdict.PASS if inside and not figure.lower_bound_only else Verdict.NOT_DECIDED


def watched(verdict: Verdict, figure: Figure, band_low: float, band_high: float) -> Verdict:
    """
    A pass that is not surely within its baseline band is a pass to watch; no other verdict changes.

    Args:
        verdict: On the absolute limits.

        figure: The figure.

        band_low: Lower end of the band, in the figure's unit.

        band_high: Upper end.

    Source: common practice, no source; the band is of `bands`, and a figure is outside it where its value is.
    """
    inside = band_low <= float(figure.decimal) <= band_high
    return Verdict.PASS_WATCH if verdict is Verdict.PASS and not inside else verdict


class Outlook(msgspec.Struct, frozen=True):
    """Whether a measurement can decide, said before the movement; `text` is for the screen."""

    can: bool
    text: str


def can_decide(expected: float, limits: Limits, predicted_uncertainty: float, unit: str = "s") -> Outlook:
    """
    Whether this line and meter can decide the question, if the value comes out as expected.

    Args:
        expected: The value that the sheet or a formula expects, in `unit`.

        limits: In the same unit.

        predicted_uncertainty: Half-width of the 95 % interval that is to be expected, in the same unit.

        unit: For the words.
    """
    rooms = [abs(float(limit) - expected) for limit in (limits.low, limits.high) if limit is not None]
    inside = (limits.low is None or expected >= float(limits.low)) and (
        limits.high is None or expected <= float(limits.high)
    )
    room = min(rooms)
    sum_text = f"U {predicted_uncertainty:.2g} {unit} against {room:.2g} {unit} of room"
    if not inside:
        return Outlook(can=predicted_uncertainty < room, text=f"expected value is outside the limits: {sum_text}")
    if predicted_uncertainty <= room:
        return Outlook(can=True, text=f"yes: {sum_text}")
    return Outlook(can=False, text=f"no: {sum_text}")


def conformance_probability(value: float, standard_uncertainty: float, limits: Limits) -> float:
    """
    Probability that the true value is within the limits, for a normal distribution around the measured one.

    Raises:
        ValueError: the uncertainty is not above zero.

    Source: JCGM 106:2012, clause 7.2.
    """
    if not standard_uncertainty > 0:
        raise ValueError(f"standard uncertainty above zero, not {standard_uncertainty}")
    return 1 - _outside(value, standard_uncertainty, limits)


def uncertainty_ratio(limits: Limits, expanded_uncertainty: float) -> float | None:
    """
    What lies between the limits over twice the expanded uncertainty; None with one limit only or without uncertainty.

    Source: ANSI/NCSL Z540.3 (from memory); four is what calibration laboratories commonly ask for.
    """
    if limits.low is None or limits.high is None or not expanded_uncertainty > 0:
        return None
    return float(Decimal(limits.high) - Decimal(limits.low)) / (2 * expanded_uncertainty)


def _outside_probability(figure: Figure, limits: Limits) -> float | None:
    if figure.lower_bound_only or not figure.uncertainty_decimal > 0:
        return None
    return _outside(float(figure.decimal), float(figure.uncertainty_decimal) / two_sided_normal(), limits)


def _outside(value: float, standard_uncertainty: float, limits: Limits) -> float:
    """Each side by itself, so that a probability of one in a billion does not drown in the last digit of one."""
    above = 0.0 if limits.high is None else normal_below((value - float(limits.high)) / standard_uncertainty)
    below = 0.0 if limits.low is None else normal_below((float(limits.low) - value) / standard_uncertainty)
    return above + below


def false_acceptance_at_limit(guard_per_uncertainty: float) -> float:
    """
    Largest probability of passing a true value that is outside one limit, with guard band w = r·U and U = 2u.

    Source: ILAC-G8:09/2019, 4.2.2 and its table of rules.
    """
    return normal_below(-2 * guard_per_uncertainty)


def _settles(figure: Figure, low: Decimal | None, high: Decimal | None) -> str:
    if figure.lower_bound_only:
        return "only a lower bound is known: repeat with the command given from here, so that its start is timed"
    guard, value = figure.uncertainty_decimal, figure.decimal
    if low is not None and high is not None and high - low < 2 * guard:
        return (
            f"U {_told(guard, figure)} is more than half of what lies between {_told(low, figure)}"
            f" and {_told(high, figure)}:"
            " no value could pass; a finer measurement is needed (faster polling or an independent recorder)"
        )
    distance = min(abs(value - limit) for limit in (low, high) if limit is not None)
    if distance == 0:
        return f"the value stands on the limit itself: adjust, or repeat; U {_told(guard, figure)}"
    return (
        f"a measurement with U of {_told(distance, figure)} or less"
        f" (now {_told(guard, figure)}: {_finer(figure)}), or a value farther from the limit"
    )


def _told(number: Decimal, figure: Figure) -> str:
    """A number with its unit; a share is told in per cent, a pressure in bar: the point moves and no digit changes."""
    unit, places = {"1": ("%", 2), "Pa": ("bar", -5)}.get(figure.unit, (figure.unit, 0))
    return f"{number.scaleb(places).normalize():f} {unit}" if places else f"{number} {unit}"


def _finer(figure: Figure) -> str:
    """What would make the uncertainty smaller: the largest line of its budget by name, where it has one."""
    if not figure.budget:
        return "faster polling or an independent recorder"
    largest = max(figure.budget, key=lambda line: float(line.share_pct))
    timed = figure.unit == "s" or largest.name.startswith("time of")
    words = "faster polling or an independent recorder" if timed else "a better instrument or more readings"
    return f"most of it from {largest.name}; {words}"


def _decimal(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)


def _text(number: Decimal | None) -> str | None:
    return None if number is None else format(number, "f")


def _is_number(text: str) -> bool:
    try:
        return Decimal(text).is_finite()
    except ArithmeticError:
        return False
