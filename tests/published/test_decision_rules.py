"""
Decision rules, against JCGM 106:2012 and ILAC-G8:09/2019 (published values 5).

Letters: R read in a public copy, C recomputed with a general library, M from memory of the document named.
"""

import math

import pytest
from scipy.stats import norm

from commission.analysis.decision import (
    Limits,
    Rule,
    conformance_probability,
    decide,
    false_acceptance_at_limit,
    uncertainty_ratio,
)
from commission.figure import Figure, Verdict


def figure(value: str, uncertainty: str) -> Figure:
    """A stroke time with these texts."""
    return Figure(
        name="response_time",
        value=value,
        expanded_uncertainty=uncertainty,
        unit="s",
        method="test/1",
        unrounded=float(value),
    )


def test_breakdown_voltage() -> None:
    """5.1: at most −5.40 V, measured −5.47 V, u 0.05 V: Φ(1.4) = 0.919243 (JCGM 106, 7.2; M numbers, C)."""
    assert conformance_probability(-5.47, 0.05, Limits(high="-5.40")) == pytest.approx(0.919243, abs=1e-6)


def test_bursting_strength() -> None:
    """5.2: at least 490 kPa, measured 509.7 kPa, u 8.6 kPa: 0.989010 (JCGM 106, 7.2; M, C)."""
    assert conformance_probability(509.7, 8.6, Limits("490")) == pytest.approx(0.989010, abs=1e-6)


@pytest.mark.parametrize(
    ("ratio", "risk", "tolerance"),
    [
        (1.0, 0.02275, 1e-5),  # 5.4: w = U, below 2.5 % (ILAC-G8 4.2.2; R, C)
        (0.0, 0.5, 0),  # 5.5: w = 0, below 50 % (ILAC-G8 4.2.1; R)
        (0.83, 0.0485, 1e-4),  # 5.6: ISO 14253-1:2017 in ILAC-G8 table 1 (M, C)
        (1.5, 0.00135, 1e-5),  # 5.7: below 0.16 % (ILAC-G8 table 1; M, C)
        (3.0, 9.9e-10, 1e-11),  # 5.7: below 1 ppm (ILAC-G8 table 1; M, C)
    ],
)
def test_risk_of_false_acceptance(ratio: float, risk: float, tolerance: float) -> None:
    """The largest risk at the limit for a guard band of r·U."""
    assert false_acceptance_at_limit(ratio) == pytest.approx(risk, abs=tolerance)


@pytest.mark.parametrize(
    ("value", "guarded", "simple"),
    [
        ("11.8", Verdict.PASS, Verdict.PASS),  # y ≤ TL − w: pass
        ("11.9", Verdict.NOT_DECIDED, Verdict.PASS),  # conditional pass
        ("12.0", Verdict.NOT_DECIDED, Verdict.PASS),  # still within TL
        ("12.1", Verdict.NOT_DECIDED, Verdict.FAIL),  # conditional fail
        ("12.2", Verdict.NOT_DECIDED, Verdict.FAIL),  # at TL + w
        ("12.3", Verdict.FAIL, Verdict.FAIL),  # y > TL + w: fail
    ],
)
def test_zones_around_a_limit(value: str, guarded: Verdict, simple: Verdict) -> None:
    """5.8 (ILAC-G8 4.2.3, R) and 5.9 (C): both conditional zones are *not decided* here; limit 12.0 s, U 0.2 s."""
    made = decide(figure(value, "0.2"), Limits(high="12.0"))
    assert made.verdict is guarded
    assert made.accept_high == "11.8"
    assert decide(figure(value, "0.2"), Limits(high="12.0"), Rule.SIMPLE).verdict is simple


def test_exactly_on_the_acceptance_limit() -> None:
    """5.10 (C): 11.8 s with U 0.2 s passes a limit of 12.0 s; so does 0.1 with U 0.2 under 0.3, where floats fail."""
    assert decide(figure("11.8", "0.2"), Limits(high="12.0")).verdict is Verdict.PASS
    assert 0.3 - 0.2 < 0.1  # why the comparison is made in decimals
    assert decide(figure("0.1", "0.2"), Limits(high="0.3")).verdict is Verdict.PASS


@pytest.mark.parametrize(("risk", "factor"), [(0.05, 1.64485), (0.025, 1.95996), (0.01, 2.32635), (0.001, 3.09023)])
def test_one_sided_factors(risk: float, factor: float) -> None:
    """5.11 (C): at these many standard uncertainties from the limit the risk is as named."""
    assert false_acceptance_at_limit(factor / 2) == pytest.approx(risk, rel=1e-4)


@pytest.mark.parametrize("value", [-3.0, -0.7, 0.0, 1.2, 4.0])
def test_two_limits_against_the_reference_library(value: float) -> None:
    """SciPy's normal distribution as referee (C)."""
    expected = norm.cdf(2, value, 0.8) - norm.cdf(-1, value, 0.8)
    assert math.isclose(conformance_probability(value, 0.8, Limits("-1", "2")), expected, abs_tol=1e-12)


def test_uncertainty_ratio_of_a_loop_calibration() -> None:
    """5.12: 16 mA ± 0.08 mA with U = 0.02 mA is 4 (ANSI/NCSL Z540.3; M, C)."""
    assert uncertainty_ratio(Limits("15.92", "16.08"), 0.02) == pytest.approx(4.0, rel=1e-12)


def test_false_acceptance_beside_the_verdict() -> None:
    """5.1 again, from the other side: 1 − 0.919243 of breakdown voltages like it are outside (JCGM 106, 7.2; M, C)."""
    measured = Figure(
        name="voltage",
        value="-5.47",
        expanded_uncertainty=str(0.05 * 1.959963984540054),
        unit="V",
        method="test/1",
        unrounded=-5.47,
    )
    assert decide(measured, Limits(high="-5.40")).outside_probability == pytest.approx(1 - 0.919243, abs=1e-6)
