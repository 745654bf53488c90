"""Tests of commission.report.display."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission import quantity
from commission.figure import make_figure
from commission.report.display import clock_text, figure_name, printed_unit, shown, shown_limit


@pytest.mark.parametrize(
    ("name", "value", "half", "unit", "text"),
    [
        ("pressure_max", 4.8e6, 12_000.0, "Pa", "48.00 ± 0.12 bar"),
        ("pressure_max", 4.8123e6, 1.2345e6, "Pa", "48 ± 13 bar"),
        ("final_travel", 0.998, 0.00123, "1", "99.80 ± 0.13 %"),
        ("feedback_current", 0.01234, 1.2e-5, "A", "12.340 ± 0.012 mA"),
        ("current_max", 19.63, 0.25, "A", "19.63 ± 0.25 A"),
        ("response_time", 8.0512, 0.0312, "s", "8.051 ± 0.032 s"),
        ("response_time", 1600.0, 230.0, "s", "1600 ± 230 s"),
        ("oil_temperature", 12.3, 0.5, "degC", "12.30 ± 0.50 °C"),
        ("pressure_max", 4.8e6, 0.0, "Pa", "48 bar"),
        ("motor_starts", 6.0, 0.0, "1", "6"),
    ],
)
def test_a_figure_is_printed_in_the_units_of_the_trade(
    name: str, value: float, half: float, unit: str, text: str
) -> None:
    """The decimal point moves; U keeps two digits and the value U's place."""
    assert str(shown(make_figure(name, value, half, unit, "m/1"))) == text


@given(
    st.floats(min_value=-1e9, max_value=1e9),
    st.floats(min_value=1e-6, max_value=1e8),
    st.sampled_from([("pressure", "Pa"), ("travel", "1"), ("feedback", "A"), ("time", "s")]),
)
def test_what_is_printed_is_exactly_what_was_judged(value: float, half: float, kind: tuple[str, str]) -> None:
    """Going back to SI gives the stored decimals, to the last digit: nothing is rounded twice."""
    name, unit = kind
    figure = make_figure(name, value, half, unit, "m/1")
    printed = shown(figure)
    back = Decimal({"bar": "1e5", "%": "0.01", "mA": "0.001", "s": "1"}[printed.unit])
    assert Decimal(printed.value) * back == figure.decimal
    assert Decimal(printed.uncertainty) * back == figure.uncertainty_decimal


def test_the_powers_of_ten_are_those_of_the_unit_library() -> None:
    """Pint's bar, percent and milliampere (BIPM SI Brochure, 9th edition, table 8 and 3.1) are what moves the point."""
    assert quantity.conversion("Pa", "bar").scale == pytest.approx(1e-5, rel=1e-15)
    assert shown_limit("7000000", "pressure", "Pa") == "70"
    assert shown_limit("0.15", "travel", "1") == "15"
    assert shown_limit("0.0041", "feedback_current", "A") == "4.1"


def test_a_limit_in_the_figures_own_unit_keeps_its_digits() -> None:
    """`6.0` stays `6.0`, as the sheet wrote it; a missing limit stays empty."""
    assert shown_limit("6.0", "response_time", "s") == "6.0"
    assert shown_limit("", "response_time", "s") == ""


def test_at_least_is_said() -> None:
    """A figure without its start is printed as a lower bound (safety rule R19)."""
    figure = make_figure("response_time", 8.0, 0.1, "s", "m/1", lower_bound_only=True)
    assert str(shown(figure)) == "≥ 8.00 ± 0.10 s"


def test_units_that_are_not_converted_stay() -> None:
    """An unknown unit is printed as it is."""
    assert printed_unit("volume", "m3") == "m3"


def test_names_are_words() -> None:
    """Known and unknown figures have a readable name."""
    assert figure_name("travel_50_pct_time") == "time to 50 % travel"
    assert figure_name("pressure_max") == "largest pressure"
    assert figure_name("dead_band") == "dead band"


def test_a_time_leaves_out_the_day_that_is_known() -> None:
    """The date stands before a time of another day; what is no time is printed as it is."""
    assert clock_text("2026-11-24T12:30:05+00:00", "2026-11-24") == "12:30:05"
    assert clock_text("2026-11-25T12:30:05+00:00", "2026-11-24") == "2026-11-25 12:30:05"
    assert clock_text("noon") == "noon"


def test_pressures_of_a_partial_stroke_say_which_way_and_where() -> None:
    """Percent of travel from the end it left."""
    assert figure_name("out_pressure_5_pct") == "pressure going out at 5 %"
    assert figure_name("back_pressure_10_pct") == "pressure coming back at 10 %"
    assert figure_name("out_time_5_pct") == "time from first motion to 5 %"
    assert figure_name("back_time_5_pct") == "time from turn back to 5 %"


@pytest.mark.parametrize(
    ("name", "value", "uncertainty", "unit", "printed"),
    [
        ("friction_50_pct", 22_030.0, 770.0, "N", "22.03 ± 0.77 kN"),
        ("speed_at_half_travel", 0.1522, 0.0068, "1/s", "15.22 ± 0.68 %/s"),
        ("hold_drift", -0.0005, 0.0001, "1/h", "-0.050 ± 0.010 %/h"),
        ("travel_per_kelvin", 0.001, 0.0002, "1/K", "0.100 ± 0.020 %/K"),
        ("leak_rate", 19.25e-6, 3.7e-6, "m³/h", "19.2 ± 3.7 mL/h"),
        ("opening_to_closing_ratio", 18.04, 0.16, "1", "18.04 ± 0.16"),
        ("valve_load_50_pct", 3000.0, 220.0, "N·m", "3000 ± 220 N·m"),
    ],
)
def test_units_of_loads_and_drifts_move_the_point_and_no_digit(
    name: str, value: float, uncertainty: float, unit: str, printed: str
) -> None:
    """Printed in the units of the trade; a ratio of two times is no percentage."""
    assert str(shown(make_figure(name, value, uncertainty, unit, "test/1"))) == printed


@given(st.floats(-1e9, 1e9), st.floats(1e-6, 1e6), st.sampled_from(["N", "1/s", "1/h", "1/K", "m³/h", "Pa", "1"]))
def test_what_is_printed_goes_back_to_what_was_judged(value: float, uncertainty: float, unit: str) -> None:
    """There and back, value and uncertainty are the stored decimals, whatever the unit."""
    figure = make_figure("x", value, uncertainty, unit, "test/1")
    printed = shown(figure)
    back = Decimal(1).scaleb(-{"N": -3, "m³/h": 6, "Pa": -5}.get(unit, 2))
    assert Decimal(printed.value) * back == figure.decimal
    assert Decimal(printed.uncertainty) * back == figure.uncertainty_decimal
