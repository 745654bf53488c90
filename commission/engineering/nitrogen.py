"""
Real nitrogen: the pressure of a closed bottle at another temperature, where the ideal law is out by more than a gauge.

At 100 bar and −20 °C the ideal law says 86.2 bar and nitrogen has 82.9: a technician who charges by the ideal law
leaves the bottle short or finds a fault that is none. Pressure from density and temperature follows the short
12-term equation of state for nonpolar fluids.

Source: R. Span, W. Wagner, "Equations of State for Technical Applications. II. Results for Nonpolar Fluids",
International Journal of Thermophysics 24 (2003) 41-109, nitrogen; stated uncertainty of density 0.2 % up to 30 MPa.
Coefficients from memory of the paper; held against CoolProp, which uses the reference equation of the same group, in
the tests.
"""

import math

import msgspec

from commission.engineering.accumulator import ATMOSPHERE_PA, KELVIN_AT_0_C, absolute_pa

GAS_CONSTANT = 8.31451
"""J/(mol·K), the value that the equation was fitted with."""

CRITICAL_K = 126.192
CRITICAL_MOL_M3 = 11_183.9
LOWEST_K, HIGHEST_K, HIGHEST_PA = 200.0, 400.0, 60e6
"""Where this module will answer: far inside the equation's range, and beyond any accumulator on site."""


class _Term(msgspec.Struct, frozen=True):
    n: float
    t: float
    d: int
    p: int


_TERMS = tuple(
    _Term(*term)
    for term in (
        (0.92296567, 0.25, 1, 0),
        (-2.5575012, 1.125, 1, 0),
        (0.64482463, 1.5, 1, 0),
        (0.01083102, 1.375, 2, 0),
        (0.073924167, 0.25, 3, 0),
        (0.00023532962, 0.875, 7, 0),
        (0.18024854, 0.625, 2, 1),
        (-0.045660299, 1.75, 5, 1),
        (-0.1552106, 3.625, 1, 2),
        (-0.03811149, 3.625, 4, 2),
        (-0.031962422, 14.5, 3, 3),
        (0.015513532, 12.0, 4, 3),
    )
)
"""Coefficient, power of the inverse reduced temperature, power of the reduced density, power in the exponential."""


def pressure_abs_pa(density_mol_m3: float, temperature_k: float) -> float:
    """
    Absolute pressure of nitrogen, Pa.

    Args:
        density_mol_m3: Amount of gas in a cubic metre.

        temperature_k: Kelvin.
    """
    return density_mol_m3 * GAS_CONSTANT * temperature_k * compressibility(density_mol_m3, temperature_k)


def compressibility(density_mol_m3: float, temperature_k: float) -> float:
    """The factor Z = p/(ρRT), 1 for an ideal gas: Z = 1 + δ ∂α/∂δ of the residual part."""
    delta, tau = density_mol_m3 / CRITICAL_MOL_M3, CRITICAL_K / temperature_k
    return 1.0 + math.fsum(_share(term, delta, tau) for term in _TERMS)


def _share(term: _Term, delta: float, tau: float) -> float:
    value = term.n * math.pow(delta, term.d) * math.pow(tau, term.t)
    if term.p == 0:
        return value * term.d
    power = math.pow(delta, term.p)
    return value * math.exp(-power) * (term.d - term.p * power)


def density_mol_m3(pressure: float, temperature_k: float) -> float:
    """
    Amount of nitrogen in a cubic metre at an absolute pressure, by secants from the ideal gas.

    Raises:
        ValueError: outside 200 to 400 K or above 600 bar.
    """
    if not LOWEST_K <= temperature_k <= HIGHEST_K or not 0.0 < pressure <= HIGHEST_PA:
        raise ValueError("nitrogen from 200 to 400 K, up to 600 bar")
    density = pressure / (GAS_CONSTANT * temperature_k)
    for _ in range(60):
        found = pressure_abs_pa(density, temperature_k)
        if abs(found - pressure) <= 1e-12 * pressure:
            break
        slope = (pressure_abs_pa(density * (1 + 1e-7), temperature_k) - found) / (density * 1e-7)
        density -= (found - pressure) / slope
    return density


def precharge_pa(at_pa: float, at_c: float, now_c: float) -> float:
    """
    Gauge precharge at another gas temperature, the same nitrogen in the same volume.

    Args:
        at_pa: Gauge pressure at `at_c`.

        at_c: Gas temperature it is given for, °C.

        now_c: Gas temperature now, °C.

    Raises:
        ValueError: outside the range of `density_mol_m3`.
    """
    density = density_mol_m3(absolute_pa(at_pa), at_c + KELVIN_AT_0_C)
    if not LOWEST_K <= now_c + KELVIN_AT_0_C <= HIGHEST_K:
        raise ValueError("nitrogen from 200 to 400 K")
    return pressure_abs_pa(density, now_c + KELVIN_AT_0_C) - ATMOSPHERE_PA
