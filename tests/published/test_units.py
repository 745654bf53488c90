"""
Units held against published factors.

Source: NIST SP 811 (2008), appendix B, and the exact definitions it rests on. Letters: R read in a public copy, C
recomputed from the definition, M from memory. All factors below are C; that SP 811 prints them is M.
"""

import pytest

from commission.quantity import conversion, parse

FACTORS = [
    ("inch·lbf", "N·m", 0.1129848290, 1e-9),
    ("ft·lbf", "N·m", 1.355817948, 1e-9),
    ("psi", "kPa", 6.894757293, 1e-9),
    ("psi", "Pa", 6894.757293, 1e-9),
    ("bar", "psi", 14.50377377, 1e-9),
    ("lbf", "N", 4.448221615, 1e-9),
    ("atm", "bar", 1.01325, 1e-12),
    ("inHg", "Pa", 3386.388, 1e-6),
    ("inH2O", "Pa", 249.08891, 1e-8),
    ("imperial_gallon", "L", 4.54609, 1e-12),
    ("cSt", "mm²/s", 1.0, 1e-12),
    ("gallon", "L", 3.785411784, 1e-12),
    ("inch^3", "cm^3", 16.387064, 1e-12),
    ("inch²", "mm²", 645.16, 1e-12),
    ("hp", "W", 745.6998716, 1e-9),
    ("kgf/cm²", "bar", 0.980665, 1e-12),
    ("kgf·m", "N·m", 9.80665, 1e-12),
    ("mile", "km", 1.609344, 1e-12),
    ("Btu_it/h", "W", 0.2930710702, 1e-8),
    ("MPa", "Pa", 1e6, 1e-15),
    ("kPa", "Pa", 1e3, 1e-15),
    ("bar", "Pa", 1e5, 1e-15),
    ("mA", "A", 1e-3, 1e-15),
    ("%", "1", 1e-2, 1e-15),
    ("min", "s", 60.0, 1e-15),
    ("h", "s", 3600.0, 1e-15),
]
"""One of the first in the second, with the relative tolerance that the printed digits allow (all C)."""


@pytest.mark.parametrize(("source", "target", "factor", "tolerance"), FACTORS, ids=str)
def test_one_unit_in_another(source: str, target: str, factor: float, tolerance: float) -> None:
    """The scale is the published factor, and there is no offset (NIST SP 811, B.8; C)."""
    found = conversion(source, target)
    assert found.scale == pytest.approx(factor, rel=tolerance)
    assert found.offset == 0.0


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [(-40.0, -40.0), (100.0, 37.7778), (-65.0, -53.8889), (32.0, 0.0), (212.0, 100.0)]
)
def test_temperatures(fahrenheit: float, celsius: float) -> None:
    """t/°C = (t/°F − 32)/1.8 (NIST SP 811, B.9; C)."""
    assert conversion("°F", "degC").apply(fahrenheit) == pytest.approx(celsius, abs=5e-5)
    assert parse(f"{fahrenheit} F", "degC").value == pytest.approx(celsius, abs=5e-5)
    assert conversion("°F", "degC").undo(celsius) == pytest.approx(fahrenheit, abs=1e-4)


def test_a_difference_of_temperatures() -> None:
    """A rise of 50 °F is one of 27.7778 K: never minus or plus 32 (NIST SP 811, B.9; C)."""
    assert conversion("°F", "K").apply_difference(50.0) == pytest.approx(27.7778, abs=5e-5)


def test_the_zero_of_celsius() -> None:
    """0 °C = 273.15 K (definition of the degree Celsius; C)."""
    assert conversion("°C", "K").apply(0.0) == pytest.approx(273.15, abs=1e-12)
