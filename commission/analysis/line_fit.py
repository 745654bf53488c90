"""
The least-squares straight line with what is uncertain about it, and where it meets a limit.

Times or inputs are taken from their mean, where slope and mean value are uncorrelated; sums are exactly rounded.
"""

import math
from collections.abc import Sequence

import msgspec

from commission.analysis.quantiles import COVERAGE, two_sided_student


class LineFit(msgspec.Struct, frozen=True, kw_only=True):
    """
    A line `y = mean_y + slope · (x − mean_x)` through `count` points.

    Args:
        mean_x: Mean of the inputs.

        mean_y: Mean of the values: the line passes through both means.

        slope: Rise a unit of x.

        spread: Sum of squares of the inputs about their mean.

        residual_squares: Sum of squares of the values about the line.

        total_squares: Sum of squares of the values about their mean.

        count: Number of points.
    """

    mean_x: float
    mean_y: float
    slope: float
    spread: float
    residual_squares: float
    total_squares: float
    count: int

    @property
    def freedom(self) -> int:
        """Degrees of freedom of the scatter."""
        return self.count - 2

    @property
    def scatter(self) -> float:
        """Standard deviation of a value about the line."""
        return math.sqrt(self.residual_squares / self.freedom)

    @property
    def slope_standard(self) -> float:
        """Standard uncertainty of the slope."""
        return self.scatter / math.sqrt(self.spread)

    @property
    def correlation(self) -> float:
        """Correlation of the line's value at x = 0 with its slope (JCGM 100:2008, H.3.3)."""
        return -self.mean_x / math.sqrt(self.spread / self.count + self.mean_x**2)

    def value(self, x: float) -> float:
        """The line at `x`."""
        return self.mean_y + self.slope * (x - self.mean_x)

    def standard(self, x: float) -> float:
        """Standard uncertainty of the line at `x`; at 0 that of the intercept."""
        return self.scatter * math.sqrt(1 / self.count + (x - self.mean_x) ** 2 / self.spread)

    def meets(self, limit: float, coverage: float = COVERAGE) -> tuple[float, float, float] | None:
        """
        Where the line meets a limit: earliest, estimate, latest x; None where the slope may as well be zero.

        The ends are where the limit leaves the band of the line itself (Fieller): a quadratic with two roots as long
        as the slope is certainly not zero.
        """
        factor = two_sided_student(self.freedom, coverage)
        noise = (factor * self.scatter) ** 2
        steep = self.slope**2 - noise / self.spread
        if steep <= 0:
            return None
        # In u = x − mean_x: (mean_y + slope·u − limit)² = noise·(1/count + u²/spread).
        away = self.mean_y - limit
        middle = -self.slope * away / steep
        reach = math.sqrt(max(0.0, middle**2 - (away**2 - noise / self.count) / steep))
        return (
            self.mean_x + middle - reach,
            self.mean_x - away / self.slope,
            self.mean_x + middle + reach,
        )


def fit_line(inputs: Sequence[float], values: Sequence[float]) -> LineFit:
    """
    The least-squares line.

    Args:
        inputs: At least three, not all equal.

        values: As many.

    Raises:
        ValueError: too few, not as many of both, or all inputs equal.

    Source: JCGM 100:2008, H.3 (calibration of a thermometer); held against NIST StRD Norris in the tests.
    """
    count = len(inputs)
    if count < 3 or len(values) != count:
        raise ValueError(f"three points or more, as many inputs as values, not {count} and {len(values)}")
    mean_x, mean_y = math.fsum(inputs) / count, math.fsum(values) / count
    across = [x - mean_x for x in inputs]
    along = [y - mean_y for y in values]
    spread = math.fsum(x * x for x in across)
    if spread == 0:
        raise ValueError("inputs that are not all equal")
    slope = math.fsum(x * y for x, y in zip(across, along, strict=True)) / spread
    residuals = [y - slope * x for x, y in zip(across, along, strict=True)]
    return LineFit(
        mean_x=mean_x,
        mean_y=mean_y,
        slope=slope,
        spread=spread,
        residual_squares=math.fsum(rest * rest for rest in residuals),
        total_squares=math.fsum(y * y for y in along),
        count=count,
    )
