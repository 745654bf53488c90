"""Tests of what the supply does: unbalance, dip, insulation, charge, the battery's resistance."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.accuracy import parse_accuracy
from commission.analysis.budget import rectangular
from commission.analysis.supply_trace import (
    charge_drawn,
    dip_figures,
    insulation_at_40,
    source_resistance,
    unbalance_figure,
)
from commission.sheet.decode import Reading
from tests.analysis.tracks import track

METER = parse_accuracy("0.5 % rdg + 2 counts", unit="V", low=0, high=600, resolution=0.1)


def volts(at_s: float) -> float:
    """26 V at rest; a start at 2 s takes it to 23.4 V, then it runs at 25.1 V."""
    return 26.0 if at_s < 2.0 else 23.4 if at_s < 2.6 else 25.1


SUPPLY = track(volts, 12.0, noise=0.01)
MOTOR = track(lambda t: float(2.0 <= t < 11.0), 12.0)


def test_the_dip_of_a_start() -> None:
    """10 % of the volts before it, and what it runs at."""
    before, lowest, running, dip = dip_figures(SUPPLY, MOTOR)
    assert before.unrounded == pytest.approx(26.0, abs=0.02)
    assert lowest.unrounded == pytest.approx(23.4, abs=0.05)
    assert running.unrounded == pytest.approx(25.1, abs=0.02)
    assert dip.unrounded == pytest.approx(0.1, abs=0.002)
    assert "deeper" in lowest.note


def test_the_instrument_is_in_each_of_them() -> None:
    """0.1 V either way is more than the scatter."""
    own = (rectangular("transmitter", 0.1),)
    for figure in dip_figures(SUPPLY, MOTOR, own)[:3]:
        assert 0.09 < float(figure.expanded_uncertainty) < 0.12


def test_a_start_that_was_not_seen_has_no_dip() -> None:
    """Nor has one without volts before it."""
    with pytest.raises(ValueError, match="not seen to start"):
        dip_figures(SUPPLY, tuple(Reading(0.0, r.at_ns, 0) for r in MOTOR))
    with pytest.raises(ValueError, match="before, during and after"):
        dip_figures(tuple(r for r in SUPPLY if r.at_ns > 3e9), MOTOR)


def test_unbalance_with_the_meters_uncertainty() -> None:
    """460, 467, 450 V: 1.96 %, and the same meter three times."""
    figure = unbalance_figure([460, 467, 450], METER.lines("meter M-2", 460))
    assert figure.unrounded == pytest.approx(0.019608, abs=1e-6)
    assert 0.002 < float(figure.expanded_uncertainty) < 0.006
    assert unbalance_figure([460, 467, 450]).expanded_uncertainty == "0"


@given(st.lists(st.floats(300, 500), min_size=3, max_size=3), st.floats(0.5, 2.0))
def test_unbalance_is_a_share(three: list[float], factor: float) -> None:
    """Twice the volts, the same unbalance; in any order."""
    here = unbalance_figure(three).unrounded
    assert unbalance_figure([factor * v for v in reversed(three)]).unrounded == pytest.approx(here, abs=1e-9)
    assert here >= 0


def test_insulation_of_a_warm_and_a_cold_winding() -> None:
    """500 MΩ at 25 °C are 177 MΩ at 40 °C; two kelvin of doubt are 14 % of it."""
    figure = insulation_at_40(500e6, 25.0)
    assert figure.unrounded == pytest.approx(176.8e6, rel=1e-3)
    assert float(figure.expanded_uncertainty) == pytest.approx(0.95 * 2 * 0.0693 * 176.8e6, rel=0.05)
    assert insulation_at_40(5e6, 40.0).unrounded == 5e6
    with pytest.raises(ValueError, match="above zero"):
        insulation_at_40(0.0, 25.0)


def test_charge_of_a_stroke_is_the_trapezoid_rule_of_numpy() -> None:
    """Referee: numpy.trapezoid on the same readings."""
    current = track(lambda t: 20.0 * (1 < t < 9) + 0.1 * t, 12.0, noise=0.05)
    expected = np.trapezoid([r.value for r in current], [r.at_ns / 3600e9 for r in current])
    assert charge_drawn(current).unrounded == pytest.approx(float(expected), rel=1e-12)
    with pytest.raises(ValueError, match="at least two"):
        charge_drawn(current[:1])


def test_resistance_of_battery_and_cable() -> None:
    """0.9 V of sag at 19.6 A are 46 mΩ."""
    figure = source_resistance(26.0, 25.1, 19.6, (rectangular("last digit", 0.005),))
    assert figure.unrounded == pytest.approx(0.0459, abs=1e-4)
    assert float(figure.expanded_uncertainty) == pytest.approx(0.0078 / 19.6, rel=0.05)
    with pytest.raises(ValueError, match="a load"):
        source_resistance(26.0, 25.1, 0.0)
