"""Tests of baseline bands: by number of baselines, floors, and corrections to other conditions."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.bands import Band, Conditions, Corrections, Kind, Run, band, corrected

BAR = 1e5


def of(values: list[float], kind: Kind) -> Band:
    """The band of runs without conditions."""
    return band([Run(value) for value in values], kind)


@pytest.mark.parametrize(
    ("kind", "values", "half_width"),
    [
        (Kind.TIME, [8.0], 1.6),
        (Kind.TIME, [8.05, 7.98, 8.02], 0.2 * 8.016667),
        (Kind.SPEED, [0.125], 0.025),
        (Kind.BREAKAWAY_PRESSURE, [53 * BAR], 5 * BAR),
        (Kind.BREAKAWAY_PRESSURE, [20 * BAR], 3 * BAR),
        (Kind.END_POSITION, [1.0, 0.999], 0.005),
    ],
)
def test_below_five_baselines_the_usual_bands_stand(kind: Kind, values: list[float], half_width: float) -> None:
    """Time and speed ± 20 %; breakaway pressure ± 15 % or 5 bar, the smaller; end position ± 0.5 %."""
    found = of(values, kind)
    assert found.half_width == pytest.approx(half_width)
    assert found.count == len(values)
    assert f"(now {len(values)})" in found.basis


@pytest.mark.parametrize(
    ("kind", "values", "half_width"),
    [
        (Kind.TIME, [8.0, 8.1, 7.9, 8.05, 7.95], 0.8),
        (Kind.TIME, [8.0, 9.0, 7.0, 8.5, 7.5], 3 * 0.790569),
        (Kind.BREAKAWAY_PRESSURE, [53 * BAR] * 6, 5 * BAR),
        (Kind.END_POSITION, [1.0, 0.99, 1.0, 0.99, 1.0], 3 * 0.0054772),
    ],
)
def test_from_five_on_the_baselines_say_how_wide(kind: Kind, values: list[float], half_width: float) -> None:
    """Three standard deviations, never less than the floor."""
    assert of(values, kind).half_width == pytest.approx(half_width, rel=1e-5)


def test_a_band_holds_its_ends() -> None:
    """6.4 to 9.6 s around 8 s."""
    found = of([8.0], Kind.TIME)
    assert [found.low, found.high] == pytest.approx([6.4, 9.6])
    assert found.holds(found.low)
    assert found.holds(found.high)
    assert not found.holds(9.7)


def test_baselines_are_brought_to_the_conditions_of_the_run() -> None:
    """1 % slower a kelvin colder: at 10 °C instead of 20 °C the 8 s become 8.8 s, known to 0.3 of the 0.8 s."""
    slower = Corrections(per_oil_c=-0.01)
    found = band([Run(8.0, Conditions(oil_c=20.0))], Kind.TIME, Conditions(oil_c=10.0), slower)
    assert found.mean == pytest.approx(8.8)
    assert found.correction == pytest.approx(0.8)
    assert found.half_width == pytest.approx(0.2 * 8.8 + 0.3 * 0.8)
    assert "corrections leave uncertain" in found.basis


def test_each_condition_is_corrected_for_and_named() -> None:
    """Oil, supply and pressure difference add up; each is a line of the budget."""
    value, lines = corrected(
        10.0,
        Conditions(oil_c=20.0, supply_v=24.0, pressure_difference_pa=0.0),
        Conditions(oil_c=10.0, supply_v=22.0, pressure_difference_pa=10 * BAR),
        Corrections(per_oil_c=-0.01, per_supply_v=-0.05, per_pressure_pa=1e-7, doubt=0.5),
    )
    assert value == pytest.approx(10 + 1 + 1 + 1)
    assert [line.name for line in lines] == [
        "correction for oil temperature",
        "correction for supply",
        "correction for pressure difference",
    ]
    assert [line.width for line in lines] == [pytest.approx(0.5)] * 3


@pytest.mark.parametrize(
    ("measured", "wanted"),
    [
        (Conditions(), Conditions(oil_c=10.0)),
        (Conditions(oil_c=10.0), Conditions()),
        (Conditions(oil_c=10.0), Conditions(oil_c=10.0)),
    ],
)
def test_what_was_not_read_is_not_corrected_for(measured: Conditions, wanted: Conditions) -> None:
    """Nor what was the same."""
    assert corrected(8.0, measured, wanted, Corrections(per_oil_c=-0.01)) == (8.0, ())


def test_without_a_baseline_there_is_no_band() -> None:
    """Nothing is made up."""
    with pytest.raises(ValueError, match="at least one baseline"):
        band([], Kind.TIME)


@given(st.lists(st.floats(1, 100), min_size=1, max_size=12))
def test_the_mean_of_the_baselines_is_within_their_band(values: list[float]) -> None:
    """Whatever the runs were."""
    found = of(values, Kind.TIME)
    assert found.low <= found.mean <= found.high
    assert found.holds(found.mean)
