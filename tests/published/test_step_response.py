"""
Responses to a step (published values 9), computed exactly by python-control and measured here from samples.

Letters: C recomputed with python-control; terms of ANSI/ISA-75.25.01 M. Samples are 10 ms apart with noise of 0.01 %
of the step, so the tolerance in time is one sample; overshoot, of many noisy readings, is good to 0.2 %.
"""

import math

import control
import numpy as np
import pytest

from commission.analysis.intervals import Instant
from commission.analysis.response import FRACTIONS, StepSeen, step_figures
from commission.figure import Figure
from commission.sheet.decode import Reading

PERIOD_S, BEFORE_S = 0.01, 1.0


def measured(system: control.TransferFunction, dead_s: float, last_s: float) -> dict[str, Figure]:
    """Figures of the system's response to a unit step, read 100 times a second."""
    times = np.arange(0, last_s, PERIOD_S)
    _, response = control.step_response(system, times)
    noise = np.random.default_rng(9).normal(0, 1e-4, len(times))
    shift = round((BEFORE_S + dead_s) / PERIOD_S)
    values = np.concatenate([np.random.default_rng(8).normal(0, 1e-4, shift), response + noise])
    travel = tuple(Reading(0.3 + 0.2 * float(v), round(i * PERIOD_S * 1e9), 0) for i, v in enumerate(values))
    seen = StepSeen(command=Instant(round(BEFORE_S * 1e9)), size=0.2, travel=travel, scan_ns=0)
    return {figure.name: figure for figure in step_figures(seen)}


def second_order(damping: float, natural: float = 2.0) -> control.TransferFunction:
    """ωn² / (s² + 2ζωn·s + ωn²)."""
    return control.tf([natural**2], [1, 2 * damping * natural, natural**2])


def test_exact_fractions() -> None:
    """9.1: 1 − e⁻¹, 1 − e⁻², 1 − e⁻⁴ (C)."""
    assert list(FRACTIONS.values()) == pytest.approx([0.632121, 0.864665, 0.981684], abs=1e-6)


@pytest.mark.parametrize(
    ("dead_s", "tau_s", "t63", "t86", "t98"),
    [(0.3, 1.0, 1.2997, 2.3025, 4.3174), (0.5, 2.0, 2.4993, 4.5050, 8.5348)],
)
def test_first_order_with_dead_time(dead_s: float, tau_s: float, t63: float, t86: float, t98: float) -> None:
    """9.2 and 9.3: T63.2, T86.5, T98.2 (C)."""
    figures = measured(control.tf([1], [tau_s, 1]), dead_s, 12 * tau_s)
    assert figures["t63"].unrounded == pytest.approx(t63, abs=PERIOD_S)
    assert figures["t86"].unrounded == pytest.approx(t86, abs=PERIOD_S)
    assert figures["t98"].unrounded == pytest.approx(t98, abs=0.03 * tau_s)
    assert figures["model_lag"].unrounded == pytest.approx(tau_s, rel=0.01)
    assert figures["model_dead_time"].unrounded == pytest.approx(dead_s, abs=0.01 * tau_s)


@pytest.mark.parametrize(
    ("damping", "t63", "t86", "overshoot"),
    [(0.3, 0.6897, 0.8685, 0.37233), (0.707, 0.8764, 1.2478, 0.04325), (1.0, 1.0729, 1.7543, 0.0)],
)
def test_second_order(damping: float, t63: float, t86: float, overshoot: float) -> None:
    """9.4, 9.6, 9.7: ωn = 2 rad/s (C); overshoot = exp(−πζ/√(1−ζ²))."""
    figures = measured(second_order(damping), 0.0, 20.0)
    assert figures["t63"].unrounded == pytest.approx(t63, abs=PERIOD_S)
    assert figures["t86"].unrounded == pytest.approx(t86, abs=PERIOD_S)
    assert figures["overshoot"].unrounded == pytest.approx(overshoot, abs=0.002)


def test_settling_against_python_control() -> None:
    """Settling to 2 % of the final value, by the library's own `step_info`."""
    info = control.step_info(second_order(0.3), T=np.arange(0, 20, 0.001))
    settled = measured(second_order(0.3), 0.0, 20.0)["settling_time"].unrounded
    assert settled == pytest.approx(info["SettlingTime"], abs=0.02)


def test_a_linear_ramp_stroke() -> None:
    """9.8: 0 to 100 % in 8.00 s after 0.40 s: dead time 0.40, T63.2 5.456, T86.5 7.32 s (C)."""
    times = np.arange(0, 16, PERIOD_S)
    values = np.clip((times - BEFORE_S - 0.4) / 8.0, 0, 1)
    noise = np.random.default_rng(5).normal(0, 1e-4, len(times))
    travel = tuple(
        Reading(float(v + n), round(t * 1e9), 0) for t, v, n in zip(times, values, noise, strict=True)
    )  # fmt: skip
    seen = StepSeen(command=Instant(round(BEFORE_S * 1e9)), size=1.0, travel=travel, scan_ns=0)
    figures = {figure.name: figure for figure in step_figures(seen)}
    assert figures["step_dead_time"].unrounded == pytest.approx(0.40, abs=0.005)
    assert figures["t63"].unrounded == pytest.approx(0.4 + 8 * (1 - math.exp(-1)), abs=0.003)
    assert figures["t86"].unrounded == pytest.approx(0.4 + 8 * (1 - math.exp(-2)), abs=0.003)
