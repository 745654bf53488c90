"""Tests of flow, slip and the pumped stroke."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.engineering.pump import Pump, loaded_stroke_time_s, stroke_time_s, volumetric_efficiency

PUMP = Pump(displacement_m3=1e-6, speed_per_s=1750 / 60, efficiency=0.92, at_pa=68e5, at_m2_s=27e-6)
PRESSURES = st.floats(0.0, 140e5)
VISCOSITIES = st.floats(5e-6, 1000e-6)


def test_it_meets_its_stated_efficiency() -> None:
    """At the pressure and viscosity that it is stated for."""
    assert PUMP.flow_m3_s(68e5, 27e-6) == pytest.approx(PUMP.stated_m3_s, rel=1e-12)
    assert PUMP.flow_m3_s(0.0, 27e-6) == PUMP.swept_m3_s


@given(low=PRESSURES, high=PRESSURES, viscosity=VISCOSITIES)
def test_more_pressure_is_never_more_flow(low: float, high: float, viscosity: float) -> None:
    """Slip grows with pressure."""
    low, high = sorted((low, high))
    assert PUMP.flow_m3_s(high, viscosity) <= PUMP.flow_m3_s(low, viscosity)


@given(pressure=PRESSURES, thin=VISCOSITIES, thick=VISCOSITIES)
def test_thicker_oil_never_slips_more(pressure: float, thin: float, thick: float) -> None:
    """A worn pump is slower when it is warm."""
    thin, thick = sorted((thin, thick))
    assert PUMP.slip_m3_s(pressure, thick) <= PUMP.slip_m3_s(pressure, thin)


def test_a_pump_whose_slip_knows_nothing() -> None:
    """Without a pressure and viscosity for its efficiency the flow is the stated one."""
    plain = Pump(displacement_m3=1e-6, speed_per_s=29.0, efficiency=0.9)
    assert plain.flow_m3_s(200e5, 1e-6) == pytest.approx(plain.stated_m3_s, rel=1e-12)


def test_slow_running_loses_more_than_its_share() -> None:
    """Slip does not fall with speed: at half speed less than half the flow, and at a crawl none."""
    assert PUMP.flow_m3_s(68e5, 27e-6, 0.5) < 0.5 * PUMP.stated_m3_s
    assert PUMP.flow_m3_s(140e5, 5e-6, 0.05) == 0.0


def test_a_stroke_against_constant_pressure_is_volume_over_flow() -> None:
    """The integral of a constant."""
    found = loaded_stroke_time_s(PUMP, 0.0123, 0.32, lambda _: 68e5, 27e-6)
    assert found == pytest.approx(stroke_time_s(0.0123, 0.32, PUMP.stated_m3_s), rel=1e-12)
    assert volumetric_efficiency(0.0123 * 0.32, found, PUMP.swept_m3_s) == pytest.approx(0.92, rel=1e-12)


def test_a_stroke_that_the_pump_cannot_make_takes_for_ever() -> None:
    """All flow slips back before the end."""
    assert loaded_stroke_time_s(PUMP, 0.0123, 0.32, lambda rod: 68e5 * (1 + 40 * rod), 27e-6) == math.inf


@pytest.mark.parametrize("call", [lambda: stroke_time_s(1.0, 1.0, 0.0), lambda: volumetric_efficiency(1.0, 0.0, 1.0)])
def test_no_flow_and_no_time_are_refused(call: Callable[[], float]) -> None:
    """A division by nothing is no figure."""
    with pytest.raises(ValueError, match="above zero"):
        call()
