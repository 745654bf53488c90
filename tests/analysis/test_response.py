"""Tests of the response to a step: times, overshoot, settling, the fitted lag."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.intervals import Instant
from commission.analysis.response import NoResponse, StepSeen, step_figures
from commission.figure import Figure
from tests.analysis.tracks import track

STEP_S = 2.0


def lag(dead_s: float, tau_s: float) -> Callable[[float], float]:
    """First order with dead time, from 0 to 1."""
    return lambda t: 0.0 if t <= STEP_S + dead_s else 1 - math.exp(-(t - STEP_S - dead_s) / tau_s)


def seen(
    truth: Callable[[float], float],
    *,
    size: float = 0.1,
    start: float = 0.5,
    last_s: float = 14.0,
    noise: float = 0.0001,
    seed: int = 1,
    shift_ns: int = 0,
) -> StepSeen:
    """A step of the input by `size` at 2 s, read 20 times a second."""
    travel = track(lambda t: start + size * truth(t), last_s, period_s=0.05, noise=noise, half_width_s=0.002, seed=seed)
    moved = tuple(type(r)(r.value, r.at_ns + shift_ns, r.half_width_ns) for r in travel)
    return StepSeen(command=Instant(round(STEP_S * 1e9) + shift_ns), size=size, travel=moved, scan_ns=0)


def found(step: StepSeen) -> dict[str, Figure]:
    """Figures by name."""
    return {figure.name: figure for figure in step_figures(step)}


@pytest.mark.parametrize("size", [0.1, -0.1])
def test_a_first_order_valve(size: float) -> None:
    """Dead time 0.3 s, lag 1.0 s: T63 1.300, T86 2.303, T98 4.317 s, no overshoot; up as down."""
    figures = found(seen(lag(0.3, 1.0), size=size))
    for name, true_s in (("t63", 1.2997), ("t86", 2.3025), ("model_lag", 1.0), ("model_dead_time", 0.3)):
        assert figures[name].unrounded == pytest.approx(true_s, abs=0.02), name
    assert figures["t98"].unrounded == pytest.approx(4.3174, abs=0.1)
    assert figures["step_dead_time"].unrounded == pytest.approx(0.3, abs=0.05)
    assert figures["overshoot"].unrounded == pytest.approx(0.0, abs=0.002)
    assert figures["settling_time"].unrounded == pytest.approx(0.3 - math.log(0.02), abs=0.15)
    assert figures["travel_gain"].unrounded == pytest.approx(1.0, abs=0.002)


def swinging(t: float) -> float:
    """Second order, 2 rad/s, damping 0.3."""
    if t <= STEP_S:
        return 0.0
    s, z, w = t - STEP_S, 0.3, 2.0
    wd = w * math.sqrt(1 - z * z)
    return 1 - math.exp(-z * w * s) * (math.cos(wd * s) + z / math.sqrt(1 - z * z) * math.sin(wd * s))


def test_a_valve_that_overshoots() -> None:
    """37.2 % over, crossing 63 % once and for good on the way up (formula of a second-order system)."""
    figures = found(seen(swinging, last_s=20.0))
    assert figures["overshoot"].unrounded == pytest.approx(math.exp(-math.pi * 0.3 / math.sqrt(0.91)), abs=0.01)
    assert figures["t63"].unrounded == pytest.approx(0.6897, abs=0.02)
    assert figures["settling_time"].unrounded > 4


@given(st.integers(-(10**15), 10**15))
def test_another_time_of_day_changes_nothing(shift_ns: int) -> None:
    """Every figure is the same text."""
    here, there = found(seen(lag(0.3, 1.0))), found(seen(lag(0.3, 1.0), shift_ns=shift_ns))
    for name, figure in here.items():
        assert there[name].unrounded == pytest.approx(figure.unrounded, abs=1e-8)


def test_half_the_travel_is_half_the_gain() -> None:
    """A wrong range shows as gain."""
    half = seen(lag(0.3, 1.0), size=0.05)
    figures = found(StepSeen(command=half.command, size=0.1, travel=half.travel, scan_ns=0))
    assert figures["travel_gain"].unrounded == pytest.approx(0.5, abs=0.005)


def test_a_valve_that_does_not_answer_is_no_response() -> None:
    """Noise is not motion; nor is a handful of readings a response."""
    with pytest.raises(NoResponse, match="which its noise may do"):
        step_figures(seen(lambda _t: 0.0, noise=0.0005))
    full = seen(lag(0.3, 1.0))
    with pytest.raises(NoResponse, match="too few"):
        step_figures(StepSeen(command=full.command, size=0.1, travel=full.travel[:8], scan_ns=0))
    with pytest.raises(NoResponse, match="0 of them before"):
        step_figures(StepSeen(command=Instant(0), size=0.1, travel=full.travel[5:], scan_ns=0))
