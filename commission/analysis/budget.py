"""
An uncertainty budget: its lines, what they add up to, and the 95 % uncertainty of the figure that rests on them.

Lines are made by `rectangular`, `triangular`, `trapezoidal`, `normal`, `expanded`, `resolution` and `readings`; each
has a sensitivity, so that an error common to two readings (one meter for both) is one line with the difference of the
two effects. Everything is closed form and `fsum`, because figures that are stored rest on it. Typical use:

    budget = Budget((rectangular("gauge, class 0.5", 8e4), resolution("last digit", 1e4), readings("scatter", values)))
    figure = budget.figure("breakaway_pressure", value, "Pa", "levels.breakaway/1")
"""

import math
from collections.abc import Iterable, Sequence
from decimal import Decimal
from enum import StrEnum

import msgspec

from commission.analysis import uniform_sum
from commission.analysis.quantiles import COVERAGE, two_sided_normal, two_sided_student
from commission.figure import BudgetLine, Figure, make_figure

_PLAIN_FROM, _PLAIN_TO = -6, 9


class Shape(StrEnum):
    """What is known of an input: only bounds, bounds and a likely middle, or a standard uncertainty."""

    RECTANGULAR = "rectangular"
    TRIANGULAR = "triangular"
    TRAPEZOIDAL = "trapezoidal"
    NORMAL = "normal"
    STUDENT = "t"


_BOUNDED = (Shape.RECTANGULAR, Shape.TRIANGULAR, Shape.TRAPEZOIDAL)


class Line(msgspec.Struct, frozen=True, kw_only=True):
    """
    One input of a budget.

    Args:
        name: What it is, in a technician's words.

        shape: Its distribution.

        width: For bounded shapes the half-width, for normal and t the standard uncertainty, in the input's unit.

        top_ratio: Width of a trapezoid's top over that of its base; 0 is a triangle, 1 a rectangle.

        degrees_of_freedom: Infinite for bounds and for what a certificate states without them.

        sensitivity: Change of the figure for a change of one in the input.

    Raises:
        ValueError: the width is negative or not finite, the ratio is not between 0 and 1, or there is less than one
            degree of freedom.
    """

    name: str
    shape: Shape
    width: float
    top_ratio: float = 1.0
    degrees_of_freedom: float = math.inf
    sensitivity: float = 1.0

    def __post_init__(self) -> None:
        """Refuse what no uncertainty can be."""
        if not math.isfinite(self.width) or self.width < 0 or not math.isfinite(self.sensitivity):
            raise ValueError(f"{self.name}: a finite width of at least zero, not {self.width} × {self.sensitivity}")
        if not 0 <= self.top_ratio <= 1:
            raise ValueError(f"{self.name}: a trapezoid's top is 0 to 1 of its base, not {self.top_ratio}")
        if not self.degrees_of_freedom >= 1:
            raise ValueError(f"{self.name}: at least one degree of freedom, not {self.degrees_of_freedom}")

    @property
    def standard(self) -> float:
        """Standard uncertainty of the input, in its unit (JCGM 100:2008, 4.3.7 and 4.3.9)."""
        if self.shape is Shape.RECTANGULAR:
            return self.width / math.sqrt(3)
        if self.shape is Shape.TRIANGULAR:
            return self.width / math.sqrt(6)
        if self.shape is Shape.TRAPEZOIDAL:
            return self.width * math.sqrt((1 + self.top_ratio**2) / 6)
        return self.width

    @property
    def contribution(self) -> float:
        """What it adds to the figure's standard uncertainty, in the figure's unit (JCGM 100:2008, 5.1.3)."""
        return abs(self.sensitivity) * self.standard

    @property
    def uniform_terms(self) -> tuple[float, ...]:
        """Half-widths, in the figure's unit, of the uniform terms that a bounded input is the sum of; else empty."""
        reach = abs(self.sensitivity) * self.width
        if self.shape is Shape.RECTANGULAR:
            return (reach,)
        if self.shape is Shape.TRIANGULAR:
            return (reach / 2, reach / 2)
        if self.shape is Shape.TRAPEZOIDAL:
            return (reach * (1 + self.top_ratio) / 2, reach * (1 - self.top_ratio) / 2)
        return ()

    def times(self, sensitivity: float) -> "Line":
        """The same input where the figure changes `sensitivity` times as much with it."""
        return msgspec.structs.replace(self, sensitivity=self.sensitivity * sensitivity)


def rectangular(name: str, half_width: float, sensitivity: float = 1.0) -> Line:
    """Anything within ± half-width is as likely as anything else: a data sheet's bound."""
    return Line(name=name, shape=Shape.RECTANGULAR, width=half_width, sensitivity=sensitivity)


def triangular(name: str, half_width: float, sensitivity: float = 1.0) -> Line:
    """Within ± half-width, most likely in the middle: the difference of two equal uniform terms."""
    return Line(name=name, shape=Shape.TRIANGULAR, width=half_width, sensitivity=sensitivity)


def trapezoidal(name: str, half_width: float, top_ratio: float, sensitivity: float = 1.0) -> Line:
    """Within ± half-width, level on top over `top_ratio` of it: the difference of two unequal uniform terms."""
    return Line(
        name=name, shape=Shape.TRAPEZOIDAL, width=half_width, top_ratio=top_ratio, sensitivity=sensitivity
    )  # fmt: skip


def normal(name: str, standard: float, sensitivity: float = 1.0) -> Line:
    """A standard uncertainty that is well known."""
    return Line(name=name, shape=Shape.NORMAL, width=standard, sensitivity=sensitivity)


def student(name: str, standard: float, degrees_of_freedom: float, sensitivity: float = 1.0) -> Line:
    """A standard uncertainty from few observations."""
    return Line(
        name=name, shape=Shape.STUDENT, width=standard, degrees_of_freedom=degrees_of_freedom, sensitivity=sensitivity
    )


def expanded(name: str, half_width_95: float, factor: float = 2.0, sensitivity: float = 1.0) -> Line:
    """
    What a certificate states as U with a coverage factor (JCGM 100:2008, 4.3.3).

    Raises:
        ValueError: the factor is not above zero.
    """
    if not factor > 0:
        raise ValueError(f"{name}: a coverage factor above zero, not {factor}")
    return normal(name, half_width_95 / factor, sensitivity)


def resolution(name: str, step: float, sensitivity: float = 1.0) -> Line:
    """The last digit of a digital reading: ± half a step (JCGM 100:2008, F.2.2.1)."""
    return rectangular(name, abs(step) / 2, sensitivity)


def readings(name: str, values: Sequence[float], sensitivity: float = 1.0) -> Line:
    """
    The mean of repeated readings (JCGM 100:2008, 4.2.3: s/√n with n − 1 degrees of freedom).

    Raises:
        ValueError: fewer than two readings.
    """
    count = len(values)
    if count < 2:
        raise ValueError(f"{name}: at least two readings, not {count}")
    mean = math.fsum(values) / count
    variance = math.fsum((value - mean) ** 2 for value in values) / (count - 1)
    return student(name, math.sqrt(variance / count), count - 1, sensitivity)


class Budget(msgspec.Struct, frozen=True):
    """All lines of one figure; a correlated pair is one line with the difference of its effects."""

    lines: tuple[Line, ...]

    @property
    def combined(self) -> float:
        """Combined standard uncertainty, in the figure's unit (JCGM 100:2008, 5.1.2)."""
        return _root_sum(line.contribution for line in self.lines)

    @property
    def effective_degrees(self) -> float:
        """Effective degrees of freedom by Welch and Satterthwaite (JCGM 100:2008, G.4.1); infinite without t lines."""
        return _effective_degrees(self.lines)

    def gum_expanded(self, coverage: float = COVERAGE) -> float:
        """U = t(effective degrees)·u, which takes the figure for normal (JCGM 100:2008, G.4.1)."""
        return two_sided_student(self.effective_degrees, coverage) * self.combined

    def expanded(self, coverage: float = COVERAGE) -> float:
        """
        Half-width of the 95 % interval, in the figure's unit.

        The distribution of the bounded lines is added up exactly, so that U is right also where two or three of them
        dominate; t lines widen the normal part.

        Source: JCGM 100:2008, 6.3 and G.4; JCGM 101:2008, 6.4 and 9.2 (four equal uniform terms: 3.88, not 3.92).
        """
        bounded = [line for line in self.lines if line.shape in _BOUNDED and line.contribution > 0]
        if not bounded:
            return self.gum_expanded(coverage)
        terms = [term for line in bounded for term in line.uniform_terms]
        whole = self.combined
        share = math.fsum((line.contribution / whole) ** 2 for line in bounded)
        rest = [line for line in self.lines if line.shape not in _BOUNDED]
        return uniform_sum.half_width(terms, _as_normal(rest, share, coverage), coverage)

    def together(self, count: int) -> float:
        """
        Half-width that so many independent deviations of this budget all keep within, 95 times in a hundred.

        Source: each keeps within it with 0.95^(1/n) (Šidák, Journal of the American Statistical Association 62, 1967,
        p. 626, from memory; elementary for independent ones).
        """
        return self.expanded(COVERAGE ** (1 / count))

    def figure(
        self,
        name: str,
        value: float,
        unit: str,
        method: str,
        *,
        note: str = "",
        lower_bound_only: bool = False,
        largest_of: int = 1,
    ) -> Figure:
        """
        The figure with this budget's expanded uncertainty, and the budget kept with it line by line.

        Args:
            name: Of the figure.

            value: Before rounding.

            unit: SI.

            method: The function that computed it, with its version.

            note: What a reader has to know.

            lower_bound_only: Where only "at least this" is known.

            largest_of: Where the figure is the largest of several with this budget each: how many may be it.

        Raises:
            ValueError: as for `make_figure`.
        """
        half = self.expanded() if largest_of == 1 else self.together(largest_of)
        if largest_of > 1:
            note = "; ".join(part for part in (note, f"largest of {largest_of} alike: U holds for all of them") if part)
        figure = make_figure(name, value, half, unit, method, note=note, lower_bound_only=lower_bound_only)
        return msgspec.structs.replace(figure, budget=self.printable())

    def printable(self) -> tuple[BudgetLine, ...]:
        """The lines as they are printed, in the order given; shares are those in the combined variance."""
        whole = self.combined or 1.0
        return tuple(
            BudgetLine(
                name=line.name,
                shape=_shape_words(line),
                width=_digits(line.width),
                standard=_digits(line.standard),
                sensitivity=_digits(line.sensitivity),
                degrees_of_freedom="" if math.isinf(line.degrees_of_freedom) else _digits(line.degrees_of_freedom),
                contribution=_digits(line.contribution),
                share_pct=format(100 * (line.contribution / whole) ** 2, ".0f"),
            )
            for line in self.lines
        )


def _root_sum(contributions: Iterable[float]) -> float:
    return math.sqrt(math.fsum(one * one for one in contributions))


def _as_normal(lines: Sequence[Line], bounded_share: float, coverage: float) -> float:
    """
    Standard deviation of the normal term that stands for these lines in the sum.

    Where they make up most of the figure, their interval is that of Welch and Satterthwaite. Beside bounds that make up
    most of it, it is the variance of each t line that counts, and its own factor (1.42 for 4 degrees of freedom) is
    that of its deviation (√2, JCGM 101:2008, 6.4.9.4) within a few per cent; between the two by the share.
    """
    plain = _root_sum(line.contribution for line in lines)
    if not plain:
        return 0.0
    normal_factor = two_sided_normal(coverage)
    together = plain * two_sided_student(_effective_degrees(lines), coverage) / normal_factor
    each = _root_sum(
        line.contribution * two_sided_student(line.degrees_of_freedom, coverage) / normal_factor for line in lines
    )
    return math.sqrt(bounded_share * each**2 + (1 - bounded_share) * together**2)


def _effective_degrees(lines: Sequence[Line]) -> float:
    counted = [line for line in lines if math.isfinite(line.degrees_of_freedom) and line.contribution > 0]
    if not counted:
        return math.inf
    whole = _root_sum(line.contribution for line in lines)
    # Shares first: the fourth power of a small number of pascals or metres may be too small to hold.
    below = math.fsum((line.contribution / whole) ** 4 / line.degrees_of_freedom for line in counted)
    return 1 / below if below > 0 else math.inf


def _shape_words(line: Line) -> str:
    if line.shape is Shape.TRAPEZOIDAL:
        return f"{line.shape}, top {_digits(line.top_ratio)}"
    return str(line.shape)


def _digits(number: float) -> str:
    """Four digits, without an exponent where a person would write none: a budget is read, not computed with."""
    text = format(number, ".4g")
    exact = Decimal(text)
    return format(exact, "f") if "e" in text and _PLAIN_FROM <= exact.adjusted() <= _PLAIN_TO else text
