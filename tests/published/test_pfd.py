"""
Average probability of failure on demand against published values 11.

IEC 61508-6:2010, B.3.2.2.1 (M, recomputed C); partial tests in the form of ISA-TR84.00.02 and TR96.05.01 (M, C). The
2000 edition tabulates the total rate with λD = λ/2: a trap of a factor of two. No integrity level follows (rule R26).
"""

import pytest

from commission.engineering.reliability import FinalElement, Given, average_unavailability
from tests.published.rows import rows_of


def by(value: float) -> Given:
    """A number of the table."""
    return Given(value, "IEC 61508-6 grid")


def one_channel(rate: float, coverage: float, interval_h: float) -> float:
    """PFDavg of one channel with diagnostics, 8 h to restore, a full test that reveals everything."""
    element = FinalElement(
        undetected_per_h=by(max(rate * (1 - coverage), 1e-30)),
        full_interval_h=by(interval_h),
        full_coverage=by(1.0),
        life_h=by(87_600),
        detected_per_h=by(rate * coverage),
        repair_h=by(8),
    )
    return element.pfd_average()


@pytest.mark.parametrize(
    "row",
    rows_of("pfd_one_channel.csv"),
    ids=lambda r: f"{r['proof_test_interval_h']} {r['lambda_D_per_h']} {r['diagnostic_coverage']}",
)
def test_grid(row: dict[str, str]) -> None:
    """11.2 to 11.4: within 1e-6 where λT/2 is used; where λT is large ours is the exact, smaller number (C)."""
    rate, coverage, interval_h = (
        float(row[name]) for name in ("lambda_D_per_h", "diagnostic_coverage", "proof_test_interval_h")
    )
    found, linear = one_channel(rate, coverage, interval_h), float(row["pfd_avg_computed"])
    if rate * (1 - coverage) * interval_h <= 0.1:
        assert found == pytest.approx(linear, rel=1e-4)
    else:
        assert 0.5 * linear < found < linear


@pytest.mark.parametrize(
    ("coverage", "pfd"), [(0.0, 2.2e-3), (0.6, 8.8e-4), (0.9, 2.2e-4), (0.99, 2.6e-5)], ids=["0", "60", "90", "99"]
)
def test_table_b3(coverage: float, pfd: float) -> None:
    """11.2: λD 0.5e-6, a year, two figures (M, C)."""
    assert float(f"{one_channel(0.5e-6, coverage, 8760):.1e}") == pfd


@pytest.mark.parametrize(
    ("product", "linear", "exact"),
    [(0.00876, 0.004380, 0.004367238), (0.0438, 0.0219, 0.02158373), (2.19, 1.095, 0.594483)],
)
def test_linear_and_exact(product: float, linear: float, exact: float) -> None:
    """11.6: λT/2 exceeds one when λT is large; the exact form is taken there (C)."""
    found = average_unavailability(product, 1.0)
    assert found == pytest.approx(linear if product <= 0.1 else exact, abs=1e-6)
    assert exact <= found + 1e-6


PARTIAL = [(0.0, 2.190e-2), (0.15, 1.867e-2), (0.40, 1.329e-2), (0.60, 8.979e-3), (0.65, 7.902e-3), (0.80, 4.672e-3)]


@pytest.mark.parametrize(("coverage", "pfd"), PARTIAL)
def test_partial_strokes(coverage: float, pfd: float) -> None:
    """11.7: λ 1e-6, full test each 5 years, partial each month, four figures (C; form M)."""
    element = FinalElement(
        undetected_per_h=by(1e-6),
        full_interval_h=by(5 * 8760),
        full_coverage=by(1.0),
        life_h=by(20 * 8760),
        partial_interval_h=by(730),
        partial_coverage=by(coverage),
    )
    assert element.pfd_average() == pytest.approx(pfd, rel=5e-4)


@pytest.mark.parametrize(("coverage", "pfd"), [(0.15, 3.778e-3), (0.40, 2.774e-3), (0.60, 1.971e-3), (0.80, 1.168e-3)])
def test_partial_strokes_within_a_year(coverage: float, pfd: float) -> None:
    """11.8: the same with a full test each year (C)."""
    element = FinalElement(
        undetected_per_h=by(1e-6),
        full_interval_h=by(8760),
        full_coverage=by(1.0),
        life_h=by(20 * 8760),
        partial_interval_h=by(730),
        partial_coverage=by(coverage),
    )
    assert element.pfd_average() == pytest.approx(pfd, abs=1e-6)
