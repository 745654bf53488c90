"""
Viscosity of an oil over temperature, by the sheet's points, in the coordinates in which oils are nearly straight.

Between two points log10(log10(ν + 0.7)) goes straight with log10(T) (ASTM D341, for ν above 2 mm²/s). With more than
two points each piece has its own line, so a low-temperature oil's table is met at every point. Outside its points a
straight mineral oil follows the nearest line; a thickened one is refused: two hot points say nothing about its cold.
"""

import math
from bisect import bisect_right
from collections.abc import Mapping
from itertools import pairwise

import msgspec

from commission.engineering.accumulator import KELVIN_AT_0_C

LOWEST_MM2_S = 2.0
"""Below it the constant 0.7 of ASTM D341 is no longer the whole formula."""


class OutsideTable(ValueError):
    """A temperature or viscosity that the fluid's own table does not reach, and must not be extrapolated to."""


class Line(msgspec.Struct, frozen=True):
    """`log10(log10(ν + 0.7)) = a − b·log10(T)`, ν in mm²/s and T in kelvin."""

    a: float
    b: float

    def mm2_s(self, celsius: float) -> float:
        """Kinematic viscosity at a temperature."""
        return float(10.0 ** (10.0 ** (self.a - self.b * math.log10(celsius + KELVIN_AT_0_C)))) - 0.7

    def celsius(self, mm2_s: float) -> float:
        """Temperature at which the oil has a viscosity."""
        return float(10.0 ** ((self.a - _double_log(mm2_s)) / self.b)) - KELVIN_AT_0_C


def line_through(one: tuple[float, float], other: tuple[float, float]) -> Line:
    """
    The line through two points, each °C and mm²/s.

    Raises:
        ValueError: the points are at one temperature, below 2 mm²/s, or the oil would thicken as it warms.

    Source: ASTM D341.
    """
    (t1, v1), (t2, v2) = sorted((one, other))
    if t1 == t2 or not v1 > v2 >= LOWEST_MM2_S:
        raise ValueError("two temperatures, viscosity falling between them and not below 2 mm²/s")
    x1, x2 = (math.log10(t + KELVIN_AT_0_C) for t in (t1, t2))
    b = (_double_log(v1) - _double_log(v2)) / (x2 - x1)
    return Line(_double_log(v1) + b * x1, b)


class Oil(msgspec.Struct, frozen=True):
    """
    An oil's viscosity over temperature.

    Args:
        points: °C and mm²/s, two or more, in order of temperature.

        thickened: Polymer-thickened or low-temperature oil: never beyond its own table.
    """

    points: tuple[tuple[float, float], ...]
    thickened: bool = False

    def mm2_s(self, celsius: float) -> float:
        """
        Kinematic viscosity at a temperature.

        Raises:
            OutsideTable: a thickened oil outside its table.
        """
        for at, value in self.points:
            if at == celsius:
                return value
        inside = self.points[0][0] < celsius < self.points[-1][0]
        if self.thickened and not inside:
            raise OutsideTable(
                f"the table goes from {self.points[0][0]:g} to {self.points[-1][0]:g} °C, not to {celsius:g} °C"
            )
        place = bisect_right([at for at, _ in self.points], celsius) - 1
        return self._lines[min(max(place, 0), len(self._lines) - 1)].mm2_s(celsius)

    def celsius(self, mm2_s: float) -> float:
        """
        Temperature at which the oil has a viscosity: colder is thicker.

        Raises:
            OutsideTable: a thickened oil that never has it within its table.
        """
        thinnest, thickest = self.points[-1][1], self.points[0][1]
        if self.thickened and not thinnest <= mm2_s <= thickest:
            raise OutsideTable(f"the table goes from {thinnest:g} to {thickest:g} mm²/s, not to {mm2_s:g}")
        for line, (_, (_, thinner)) in zip(self._lines, pairwise(self.points), strict=True):
            if mm2_s >= thinner:
                return line.celsius(mm2_s)
        return self._lines[-1].celsius(mm2_s)

    @property
    def _lines(self) -> tuple[Line, ...]:
        return tuple(line_through(one, other) for one, other in pairwise(self.points))


def oil_of(points_at_c: Mapping[str, float], *, thickened: bool = False) -> Oil:
    """
    An oil from its sheet's table, temperatures as text in °C.

    Raises:
        ValueError: fewer than two points, a temperature that is no number, or viscosity that does not fall with it.
    """
    points = tuple(sorted((float(celsius), value) for celsius, value in points_at_c.items()))
    if len(points) < 2:
        raise ValueError("two points of viscosity or more")
    for one, other in pairwise(points):
        line_through(one, other)
    return Oil(points, thickened)


def _double_log(mm2_s: float) -> float:
    if mm2_s <= 0.3 + 1e-9:
        raise ValueError(f"{mm2_s:g} mm²/s is no oil")
    return math.log10(math.log10(mm2_s + 0.7))
