"""How thick the oil is, and what a thick oil costs: losses in lines, suction, leakage."""

import math
from bisect import bisect_right

from commission.sheet.model import Fluid

REFERENCE_C = 20.0
"""The oil temperature that the sheet's speeds hold for."""

_KELVIN = 273.15
_LINE_LENGTH_M = 2.0
_LINE_BORE_M = 0.008
_PUMPABLE_M2_S = 1000e-6
_THICK = 4.0


class Oil:
    """
    The viscosity of one oil.

    Between two points of the fluid's table log10(log10(ν + 0.7)) is a straight line in log10 of absolute temperature,
    ν in mm²/s; the outer lines go on beyond the table's ends.

    Args:
        fluid: Its table and density.

        factor: Of the viscosity against the table: another oil in the tank.
    """

    def __init__(self, fluid: Fluid, factor: float = 1.0) -> None:
        self._factor = factor
        self._density = fluid.density_kg_m3
        points = sorted((float(celsius), nu) for celsius, nu in fluid.viscosity_at_c.items())
        self._log_t = [math.log10(celsius + _KELVIN) for celsius, _ in points]
        self._loglog = [math.log10(math.log10(nu + 0.7)) for _, nu in points]
        self._only_m2_s = points[0][1] * 1e-6 if len(points) == 1 else 30e-6

    def viscosity_m2_s(self, celsius: float) -> float:
        """Kinematic viscosity."""
        if len(self._log_t) < 2:
            return self._only_m2_s * self._factor
        log_t = math.log10(celsius + _KELVIN)
        index = min(max(bisect_right(self._log_t, log_t), 1), len(self._log_t) - 1)
        left, right = self._log_t[index - 1], self._log_t[index]
        share = (log_t - left) / (right - left)
        loglog = self._loglog[index - 1] + share * (self._loglog[index] - self._loglog[index - 1])
        return (math.pow(10.0, math.pow(10.0, loglog)) - 0.7) * 1e-6 * self._factor

    def line_pa_s_m3(self, celsius: float) -> float:
        """
        Loss in the return line a unit of flow, over that at the reference temperature, which the sheet's areas hold.

        Laminar flow in a pipe (Hagen and Poiseuille): 128 ρ ν L / (π d⁴), 2 m of 8 mm bore.
        """
        more = self.viscosity_m2_s(celsius) - self.viscosity_m2_s(REFERENCE_C) / self._factor
        return max(0.0, 128.0 * self._density * more * _LINE_LENGTH_M / (math.pi * _LINE_BORE_M**4))

    def thinness(self, celsius: float) -> float:
        """How much faster it leaks through a fine gap than at the reference temperature."""
        return self.viscosity_m2_s(REFERENCE_C) / self._factor / self.viscosity_m2_s(celsius)

    def suction_share(self, celsius: float, blocked: float) -> float:
        """Share of its flow that the pump gets, with a strainer that takes `blocked` of it at the reference."""
        viscosity = self.viscosity_m2_s(celsius)
        thick = min(1.0, math.sqrt(_PUMPABLE_M2_S / viscosity))
        thicker = min(_THICK, viscosity / (self.viscosity_m2_s(REFERENCE_C) / self._factor))
        return max(0.0, 1.0 - blocked * math.sqrt(thicker)) * thick
