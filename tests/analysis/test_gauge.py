"""A reference gauge typed in one line."""

import pytest

from commission.analysis.gauge import GaugeError, gauge_of


def test_number_range_digit_and_accuracy() -> None:
    """As the certificate has them."""
    gauge = gauge_of("G-12; 0-100 bar; 0.1 bar; 0.1 bar")
    assert gauge.id == "G-12"
    assert (gauge.accuracy.low, gauge.accuracy.high, gauge.accuracy.resolution) == (0.0, 100.0, 0.1)
    assert gauge.tolerance_pa(61.8) == pytest.approx(0.1e5)
    assert sum(line.contribution > 0 for line in gauge.lines(61.8)) == 2
    assert gauge.digit_line().width == pytest.approx(0.05)
    assert gauge.digit_line().contribution == pytest.approx(0.05e5 / 3**0.5)


@pytest.mark.parametrize("text", ["G-7; 0 to 160 bar; 0,5; 0.5 % FS", "G-7; 0..160 bar; 0.5 bar; 0.5 % FS"])
def test_usual_spellings(text: str) -> None:
    """Half a percent of 160 bar."""
    assert gauge_of(text).tolerance_pa(40.0) == pytest.approx(0.8e5)


def test_a_reading_outside_its_range_takes_the_bound_at_its_end() -> None:
    """A hand a little past the end of the scale."""
    gauge = gauge_of("G-12; 0-100 bar; 0.1 bar; 1 % rdg")
    assert gauge.tolerance_pa(101.0) == pytest.approx(1e5)
    assert gauge.lines(101.0)


@pytest.mark.parametrize(
    "text", ["", "G-12", "G-12; 0-100 bar; 0.1 bar", "G-12; wide; 0.1 bar; 0.1 bar", "G-12; 0-100 bar; fine; 0.1 bar",
             "G-12; 0-100 bar; 0.1 bar; good", "G-12; 0-1.0.0 bar; 0.1; 0.1 bar"]
)  # fmt: skip
def test_what_is_no_gauge_says_what_was_expected(text: str) -> None:
    """With an example."""
    with pytest.raises(GaugeError, match="as: G-12"):
        gauge_of(text)
