"""Tests of the accuracy of instruments: usual spellings, the bound at a reading, and clear refusals."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.accuracy import Accuracy, AccuracyError, OutsideRange, parse_accuracy
from commission.analysis.budget import Budget


def clamp(text: str) -> Accuracy:
    """A milliampere clamp: 0 to 24 mA, last digit 0.001 mA."""
    return parse_accuracy(text, unit="mA", low=0, high=24, resolution=0.001)


@pytest.mark.parametrize(
    ("text", "at_12_ma"),
    [
        ("0.2 % rdg + 0.05 % FS + 2 counts", 0.024 + 0.012 + 0.002),
        ("±(0.2% of reading + 0.05% of full scale + 2 digits)", 0.038),
        ("0,2 % of rdg + 0,05 % f.s. + 2 dgt", 0.038),
        ("0.2%MV, 0.05%range, 2 LSD", 0.038),
        ("+/- 0.2 percent reading plus 0.012 mA and 2 cts", 0.038),
        ("2000 ppm rdg + 500 ppm FS + 2 count", 0.038),
        ("12 µA", 0.012),
        ("class 0.5", 0.12),
        ("0.1 %", 0.024),
        (".1% span", 0.024),
    ],
)
def test_usual_spellings_mean_the_same(text: str, at_12_ma: float) -> None:
    """Half-width in the middle of the range, no temperature given."""
    assert clamp(text).half_width(12.0) == pytest.approx(at_12_ma)


@pytest.mark.parametrize(
    ("text", "per_kelvin_at_10_ma"),
    [
        ("0.1 % rdg + 0.01 % rdg/K", 0.001),
        ("0.1 % rdg + 0.01 % FS/°C", 0.0024),
        ("0.1 % rdg + 0.1 % FS per 10 K", 0.0024),
        ("0.1 % rdg + 0.005 mA/K", 0.005),
        ("0.1 % rdg + 0.01 %/K", 0.0024),
        ("0.1 % rdg + 0.01 % rdg/°F", 0.0018),
        ("0.1 % rdg + (0.005 % rdg + 0.001 mA)/°C", 0.0005 + 0.001),
    ],
)
def test_a_temperature_coefficient_adds_outside_the_reference_temperatures(
    text: str, per_kelvin_at_10_ma: float
) -> None:
    """18 to 28 °C unless said otherwise; below as above."""
    accuracy = clamp(text)
    inside = accuracy.half_width(10.0, 23.0)
    assert inside == accuracy.half_width(10.0) == pytest.approx(0.01)
    assert accuracy.half_width(10.0, 38.0) - inside == pytest.approx(10 * per_kelvin_at_10_ma)
    assert accuracy.half_width(10.0, -2.0) - inside == pytest.approx(20 * per_kelvin_at_10_ma)


def test_span_is_not_full_scale() -> None:
    """0.1 % of the 16 mA between 4 and 20 is less than 0.1 % of 20 mA."""
    span = parse_accuracy("0.1 % span", unit="mA", low=4, high=20)
    full_scale = parse_accuracy("0.1 % FS", unit="mA", low=4, high=20)
    assert [span.half_width(12.0), full_scale.half_width(12.0)] == pytest.approx([0.016, 0.02])


def test_a_per_cent_without_of_what_is_taken_as_the_largest_and_said() -> None:
    """The bound is never smaller than the data sheet may have meant."""
    assert clamp("0.1 %").assumed == "0.1 % taken of full scale, the largest that it can mean"
    assert clamp("0.1 % rdg").assumed == ""


def test_another_unit_than_that_of_the_range_is_converted() -> None:
    """0.5 psi on a gauge in bar; a difference of 9 °F is 5 K."""
    gauge = parse_accuracy("0.5 psi", unit="bar", low=0, high=160)
    assert gauge.half_width(50) == pytest.approx(0.5 / 14.5038, rel=1e-5)
    assert parse_accuracy("9 °F", unit="°C", low=-20, high=80).half_width(10) == pytest.approx(5.0)


def test_lines_of_a_budget_carry_the_text() -> None:
    """Specification, temperature and last digit, each by name; nothing for what adds nothing."""
    lines = clamp("0.1 % rdg + 0.01 %/K").lines("clamp M-3", 10.0, temperature_c=38.0, sensitivity=2.0)
    assert [line.name for line in lines] == [
        "clamp M-3, 0.1 % rdg + 0.01 %/K",
        "clamp M-3, at 38 °C",
        "clamp M-3, last digit",
    ]
    assert [line.width for line in lines] == [pytest.approx(0.01), pytest.approx(0.024), pytest.approx(0.0005)]
    assert {line.sensitivity for line in lines} == {2.0}
    dial = parse_accuracy("class 1", unit="bar", low=0, high=100)
    assert len(dial.lines("gauge", 50.0)) == 1
    assert Budget(dial.lines("gauge", 50.0)).expanded() == pytest.approx(0.95)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "no accuracy was typed"),
        ("good", "does not begin with a number"),
        ("0.1 % rdg + 2", "'2' in '0.1 % rdg \\+ 2' has no unit"),
        ("0.3 % of frog", "per cent of what"),
        ("(0.1 % rdg", "brackets"),
        ("0.1 % rdg + 2 counts/K", "counts per degree"),
        ("0.01 %/K", "only a temperature coefficient"),
        ("0.5 °C", "nor a unit for mA"),
        ("-0.1 % rdg", "does not begin with a number"),
        ("0.1 % rdg/0 K", "per zero degrees"),
    ],
)
def test_what_is_not_understood_is_refused_in_words(text: str, says: str) -> None:
    """The message says which part, and how to write it."""
    with pytest.raises(AccuracyError, match=says):
        clamp(text)


def test_counts_need_a_last_digit_and_a_range_needs_width() -> None:
    """What the text alone cannot say is asked for."""
    with pytest.raises(AccuracyError, match="the last digit that the instrument shows is needed"):
        parse_accuracy("2 counts", unit="V", low=0, high=30)
    with pytest.raises(AccuracyError, match="from a lower to a higher"):
        parse_accuracy("1 % FS", unit="V", low=30, high=30)
    with pytest.raises(AccuracyError, match="zero or more"):
        parse_accuracy("1 % FS", unit="V", low=0, high=30, resolution=-1)


def test_a_reading_outside_the_range_has_no_accuracy() -> None:
    """The data sheet promises nothing there."""
    with pytest.raises(OutsideRange, match="25 mA is outside the instrument's 0 to 24"):
        clamp("0.1 % rdg").half_width(25.0)


@given(st.floats(0, 5), st.floats(0, 5), st.floats(0, 24))
def test_the_bound_grows_with_each_term(of_reading: float, of_full_scale: float, value: float) -> None:
    """More per cent is never a better meter."""
    text = f"{of_reading:.6f} % rdg + {of_full_scale:.6f} % FS + 1 count"
    bound = clamp(text).half_width(value)
    assert bound == pytest.approx(of_reading * value / 100 + of_full_scale * 0.24 + 0.001, abs=1e-6)
