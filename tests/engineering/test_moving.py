"""Tests of whole strokes: what makes them slower, where they stop, what they take from each condition."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.engineering import quadrature
from commission.engineering.moving import EMPTY_LINE, Conditions, Mover
from commission.sheet.model import End
from tests.engineering.units import changed_unit, mover_of

SHARES = st.floats(0.1, 1.2)
TEMPERATURES = st.floats(-40.0, 40.0)


def time_of(tag: str, towards: End, conditions: Conditions) -> float:
    """Time of a stroke that the sheet gives enough for."""
    stroke = mover_of(tag).stroke(towards, conditions)
    assert stroke is not None
    return stroke.time_s


@settings(max_examples=15)
@given(one=SHARES, other=SHARES, tag=st.sampled_from(["xv-1101", "bdv-3307"]))
def test_a_heavier_valve_is_never_faster(one: float, other: float, tag: str) -> None:
    """Pumped or by the spring."""
    light, heavy = sorted((one, other))
    for towards in (End.OPEN, End.CLOSED):
        fast = time_of(tag, towards, Conditions(load_share=light))
        assert time_of(tag, towards, Conditions(load_share=heavy)) >= fast * (1 - 1e-12)


@settings(max_examples=15)
@given(one=TEMPERATURES, other=TEMPERATURES)
def test_colder_oil_slows_the_spring_and_not_the_pump(one: float, other: float) -> None:
    """The line behind the orifice thickens; the pump slips less."""
    cold, warm = sorted((one, other))
    closing = [time_of("xv-1101", End.CLOSED, Conditions(oil_c=celsius)) for celsius in (cold, warm)]
    opening = [time_of("xv-1101", End.OPEN, Conditions(oil_c=celsius)) for celsius in (cold, warm)]
    assert closing[0] >= closing[1] * (1 - 1e-12)
    assert opening[0] <= opening[1] * (1 + 1e-12)


@settings(max_examples=10)
@given(low=st.floats(0.6, 1.0), high=st.floats(0.6, 1.0))
def test_less_supply_is_never_faster(low: float, high: float) -> None:
    """And by more than the share of speed, because slip stays."""
    low, high = sorted((low, high))
    slow, fast = (time_of("xv-1101", End.OPEN, Conditions(speed_share=share)) for share in (low, high))
    assert slow >= fast * (1 - 1e-12)


def test_twice_the_steps_change_nothing_that_is_printed(monkeypatch: pytest.MonkeyPatch) -> None:
    """The fixed sum of the quadrature is fine enough for the corners of the load curve."""
    before = [time_of(tag, end, EMPTY_LINE) for tag in ("xv-1101", "bdv-3307") for end in (End.OPEN, End.CLOSED)]
    monkeypatch.setattr(quadrature.integral, "__defaults__", (2 * quadrature.STEPS,))
    after = [time_of(tag, end, EMPTY_LINE) for tag in ("xv-1101", "bdv-3307") for end in (End.OPEN, End.CLOSED)]
    for one, other in zip(before, after, strict=True):
        assert one == pytest.approx(other, rel=2e-5)


def test_a_stroke_that_stops_on_the_way() -> None:
    """Three times the friction leaves the spring nothing at its weak end; a low relief ends a pumped stroke."""
    stroke = mover_of("xv-1101").stroke(End.CLOSED, Conditions(load_share=0.55 * 3.1))
    assert stroke is not None
    assert not stroke.finishes
    low = Mover(changed_unit("xv-1101", "pump", relief_bar=80.0))
    assert low.stroke(End.OPEN, Conditions(load_share=1.0)).time_s == math.inf  # type: ignore[union-attr]


def test_part_of_a_stroke() -> None:
    """The whole way takes the whole time, in each way of moving."""
    for tag in ("xv-1101", "bdv-3307", "fcv-2204"):
        for towards in (End.OPEN, End.CLOSED):
            whole = mover_of(tag).to_travel_s(towards, 1.0)
            assert whole == pytest.approx(time_of(tag, towards, EMPTY_LINE), rel=1e-9)
            half = mover_of(tag).to_travel_s(towards, 0.5)
            assert half is not None
            assert half < (whole or 0.0)


def test_a_fitted_area_scales_the_spring_stroke() -> None:
    """A quarter of the area, four times the time."""
    assert time_of("bdv-3307", End.OPEN, Conditions(area_factor=0.25)) == pytest.approx(
        4 * time_of("bdv-3307", End.OPEN, EMPTY_LINE), rel=1e-9
    )


def test_where_the_sheet_is_silent_there_is_no_stroke() -> None:
    """No area of the way out; no partial stroke path; no accumulator to fill."""
    silent = Mover(changed_unit("xv-1101", "orifices", spring_stroke_mm2=None, partial_stroke_mm2=None))
    assert silent.stroke(End.CLOSED) is None
    assert silent.to_travel_s(End.CLOSED, 0.5) is None
    assert silent.partial(0.15) is None
    assert mover_of("fcv-2204").partial(0.15) is None


def test_a_weaker_spring_and_back_pressure_slow_it() -> None:
    """Both take from what drives the oil out."""
    plain = time_of("xv-1101", End.CLOSED, EMPTY_LINE)
    assert time_of("xv-1101", End.CLOSED, Conditions(spring_factor=0.9)) > plain
    assert time_of("xv-1101", End.CLOSED, Conditions(back_pa=5e5)) > plain


def test_filling_and_build_up() -> None:
    """An empty accumulator takes longer than the band; the build-up is a fraction of a second."""
    mover = mover_of("fcv-2204")
    assert mover.fill_s(0.0, 105e5) > mover.fill_s(85e5, 105e5) > 0
    assert 0 < mover_of("xv-1101").build_up_s(End.OPEN) < 1
