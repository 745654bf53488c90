"""Tests of how an expected figure is told: digits, units, what is lacking."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.engineering.expectation import Expectation, Gathering, Topic, all_of, plain


def figure(value: float, unit: str, digits: int = 3) -> Expectation:
    """A figure."""
    return Expectation(id="x", name="x", value=value, unit=unit, digits=digits, origin="test")


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (8.0029, 3, "8.00"),
        (146.36, 3, "146"),
        (1020.1, 3, "1020"),
        (0.00015, 2, "0.00015"),
        (9.996, 3, "10.0"),
        (0, 3, "0"),
        (-12.26, 3, "-12.3"),
        (6.0, 0, "6"),
        (99950, 3, "100000"),
    ],
)
def test_digits(value: float, digits: int, text: str) -> None:
    """So many significant ones, never an exponent; a rounding up to the next power keeps their number."""
    assert plain(value, digits) == text


@given(value=st.floats(1e-6, 1e9), digits=st.integers(1, 6))
def test_text_is_the_value(value: float, digits: int) -> None:
    """To half a unit of the last digit."""
    assert float(plain(value, digits)) == pytest.approx(value, rel=0.5 * 10 ** (1 - digits) * 1.01)


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (105.0, "bar", "1520 psi"),
        (3.785411784, "L", "1.00 gal"),
        (16.387064, "mL", "1.00 in³"),
        (4.4482216, "kN", "1000 lbf"),
        (25.4, "mm", "1.00 in"),
        (6.4516, "cm²", "1.00 in²"),
        (20.0, "°C", "68.0 °F"),
        (28.0, "K", "50.4 °F (difference)"),
        (9.8, "bar/K", "79.0 psi/°F"),
        (12.0, "s", "12.0 s"),
    ],
)
def test_us_units(value: float, unit: str, text: str) -> None:
    """A difference of temperature is never shifted by 32."""
    assert figure(value, unit).in_us_units().text == text


def test_what_never_happens_is_said_so() -> None:
    """An infinite time is a stroke that does not finish, in any units."""
    assert figure(math.inf, "s").text == "never"
    assert figure(math.inf, "bar").in_us_units().text == "never"


def test_a_topic_is_gathered() -> None:
    """What the sheet leaves out is kept beside what it says; nothing is added for None."""
    found = Gathering("Oil")
    found.add("a", "a", 1.0, "bar", "sheet")
    found.add("b", "b", None, "bar", "sheet")
    assert found.needs("c", fluid__density=1.0)
    assert not found.needs("d", fluid__density=1.0, tank__area=None)
    topic = found.topic
    assert [lack.field for lack in topic.lacks] == ["tank.area"]
    assert topic.find("a") is not None
    assert topic.find("b") is None
    assert [one.id for one in all_of((topic, Topic("empty")))] == ["a"]


@pytest.mark.parametrize(("bar", "psi"), [(70.8, "1027 psi"), (53.1, "770 psi"), (105.0, "1520 psi"), (0.0, "0 psi")])
def test_a_pressure_in_psi_is_as_fine_as_it_was_in_bar(bar: float, psi: str) -> None:
    """One more digit where as many would be coarser by more than a half (14.5038 psi a bar)."""
    figure = Expectation(id="p", name="precharge", value=bar, unit="bar", origin="", digits=3)
    assert figure.in_us_units().text == psi
