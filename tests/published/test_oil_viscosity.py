"""
Viscosity over temperature in the form of ASTM D341, against published values 16.

C: recomputed from the form with a general library. R: grades of ISO 3448 from two public tables.
"""

import pytest
from chemicals.viscosity import viscosity_index

from commission.engineering.viscosity import line_through, oil_of
from tests.published.rows import rows_of

TABLE = rows_of("astm_d341_viscosity.csv")
POINTS = {
    "VG 32 straight": (32.0, 5.4),
    "VG 32 high": (32.0, 6.3),
    "VG 15": (15.0, 3.5),
}


def test_the_line_of_vg_32() -> None:
    """16.5: A 9.5308, B 3.7466 through 32.0 at 40 °C and 5.40 at 100 °C (C)."""
    line = line_through((40.0, 32.0), (100.0, 5.4))
    assert (line.a, line.b) == pytest.approx((9.530815, 3.746578), abs=1e-5)


@pytest.mark.parametrize(("celsius", "mm2_s"), [(-20, 2291), (0, 336.0), (20, 86.28), (60, 15.19), (80, 8.533)])
def test_vg_32(celsius: float, mm2_s: float) -> None:
    """16.5, four figures (C); 8.5 at 80 °C is the example of ASTM D341 as told in public (R)."""
    assert oil_of({"40": 32.0, "100": 5.4}).mm2_s(celsius) == pytest.approx(mm2_s, rel=3e-4)


@pytest.mark.parametrize(("celsius", "mm2_s"), [(-20, 1185), (0, 243.0), (20, 76.32), (60, 16.38)])
def test_vg_32_of_high_index(celsius: float, mm2_s: float) -> None:
    """16.6, four figures (C)."""
    assert oil_of({"40": 32.0, "100": 6.3}).mm2_s(celsius) == pytest.approx(mm2_s, rel=5e-4)


@pytest.mark.parametrize(
    ("hot", "limits"),
    [
        ((32.0, 5.4), (-16.2, -12.2, -4.8)),
        ((32.0, 6.3), (-22.5, -18.1, -9.9)),
        ((15.0, 3.5), (-32.4, -28.6, -21.6)),
    ],
)
def test_cold_limits(hot: tuple[float, float], limits: tuple[float, ...]) -> None:
    """16.7: temperatures of 1500, 1000 and 500 mm²/s (C; the limits themselves are a sheet's)."""
    oil = oil_of({"40": hot[0], "100": hot[1]})
    assert [oil.celsius(mm2_s) for mm2_s in (1500.0, 1000.0, 500.0)] == pytest.approx(limits, abs=0.06)


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row['fluid'][:12]} {row['temperature_C']}")
def test_computed_table(row: dict[str, str]) -> None:
    """16.8: three fluids from −30 to 100 °C, five figures (C)."""
    hot = next(points for name, points in POINTS.items() if row["fluid"].startswith(name))
    oil = oil_of({"40": hot[0], "100": hot[1]})
    expected = float(row["kinematic_viscosity_mm2_s"])
    assert oil.mm2_s(float(row["temperature_C"])) == pytest.approx(expected, rel=1.5e-4)


def test_a_thickened_fluid_is_not_its_hot_points() -> None:
    """16.10: through 13.2 and 4.90 (MIL-PRF-5606H, M) the line gives 214 at −40 °C, far below its limit of 600."""
    line = line_through((40.0, 13.2), (100.0, 4.9))
    assert line.mm2_s(-40.0) == pytest.approx(214, rel=0.01)
    assert line.mm2_s(-54.0) == pytest.approx(511, rel=0.01)


def test_the_demonstration_oil_is_an_ordinary_one() -> None:
    """16.4: 32.0 and 5.40 mm²/s is a viscosity index of 102 (ASTM D2270, by `chemicals`)."""
    assert viscosity_index(32.0e-6, 5.4e-6) == pytest.approx(102, abs=0.6)


def test_grades_are_ten_per_cent_wide() -> None:
    """16.1: ISO 3448, midpoint ± 10 % (R; grades below 10 are rounded in the tables)."""
    for row in rows_of("iso_3448_grades.csv"):
        middle = float(row["midpoint_mm2_s_at_40C"])
        assert float(row["minimum_mm2_s_at_40C"]) == pytest.approx(0.9 * middle, rel=2e-3)
        assert float(row["maximum_mm2_s_at_40C"]) == pytest.approx(1.1 * middle, rel=2e-3)
    assert oil_of({"40": 32.0, "100": 5.4}).mm2_s(40.0) == 32.0
