"""
Cylinder, pump and outflow against published values 17 and against general libraries.

Bores and rods are of ISO 3320 (M); the figures are recomputed (C). Referee: `fluids` for laminar pipe flow and the
orifice in its simplest form.
"""

import math

import fluids
import pytest

from commission.engineering.cylinder import Cylinder, hydraulic_power_w
from commission.engineering.mechanism import RackAndGear
from commission.engineering.outflow import Way, line_resistance_pa_s_m3, reynolds
from commission.engineering.pump import stroke_time_s

# bore, rod, stroke mm; bar; L/min; areas mm²; force out, in kN; volume out, in L; rod L; time out, in s
CYLINDERS = [
    (100, 56, 400, 160, 10, 7854.0, 5391.0, 125.66, 86.26, 3.1416, 2.1564, 0.9852, 18.850, 12.938),
    (63, 36, 250, 100, 6, 3117.2, 2099.4, 31.17, 20.99, 0.7793, 0.5248, 0.2545, 7.793, 5.248),
    (50, 28, 200, 70, 4, 1963.5, 1347.7, 13.74, 9.43, 0.3927, 0.2695, 0.1232, 5.890, 4.043),
    (40, 22, 150, 140, 2.5, 1256.6, 876.5, 17.59, 12.27, 0.1885, 0.1315, 0.0570, 4.524, 3.155),
]


@pytest.mark.parametrize("row", CYLINDERS, ids=lambda row: f"{row[0]}/{row[1]}/{row[2]}")
def test_cylinders(row: tuple[float, ...]) -> None:
    """Areas, forces, volumes and times of four cylinders, to the last digit (17.1 to 17.4; C)."""
    bore, rod, stroke, bar, flow, full, ring, out_kn, in_kn, out_l, in_l, rod_l, out_s, in_s = row
    cylinder = Cylinder(bore_m=bore / 1000, rod_m=rod / 1000, stroke_m=stroke / 1000)
    assert cylinder.piston_m2 * 1e6 == pytest.approx(full, abs=0.06)
    assert cylinder.annulus_m2 * 1e6 == pytest.approx(ring, abs=0.06)
    assert cylinder.piston_m2 * bar * 100 == pytest.approx(out_kn, abs=0.006)
    assert cylinder.annulus_m2 * bar * 100 == pytest.approx(in_kn, abs=0.006)
    litres = (cylinder.piston_side_m3 * 1e3, cylinder.rod_side_m3 * 1e3, cylinder.rod_m3 * 1e3)
    assert litres == pytest.approx((out_l, in_l, rod_l), abs=6e-5)
    per_s = flow / 60_000
    assert stroke_time_s(cylinder.piston_m2, cylinder.stroke_m, per_s) == pytest.approx(out_s, abs=6e-4)
    assert stroke_time_s(cylinder.annulus_m2, cylinder.stroke_m, per_s) == pytest.approx(in_s, abs=6e-4)


@pytest.mark.parametrize(("l_min", "bar", "kw"), [(40, 150, 10.0), (6, 100, 1.0), (12, 210, 4.2), (1.5, 70, 0.175)])
def test_power_in_the_oil(l_min: float, bar: float, kw: float) -> None:
    """17.5: kW = Q(L/min)·p(bar)/600, the 600 exact (C)."""
    assert hydraulic_power_w(l_min / 60_000, bar * 1e5) == pytest.approx(kw * 1000, rel=1e-12)


def test_power_in_customary_units() -> None:
    """17.6: 10 US gal/min at 3000 psi: 17.503 hp by the rounded 1714 of practice, 17.5 by the exact 12000/7 (C)."""
    watts = hydraulic_power_w(10 * 3.785411784e-3 / 60, 3000 * 6894.757293168)
    assert watts / 745.6998715822702 == pytest.approx(10 * 3000 / (33_000 * 12 / 231), rel=1e-9)
    assert watts / 745.6998715822702 == pytest.approx(17.503, rel=2e-4)


def test_rack_and_pinion() -> None:
    """17.7, 17.8: 13.74447 kN on 40 mm is 549.78 N·m; 90° is 62.832 mm of rack (definition; C)."""
    gear = RackAndGear(radius_m=0.040)
    assert 13_744.47 * gear.arm_m(0.5) == pytest.approx(549.78, abs=0.005)
    assert gear.rod_m(1.0) * 1000 == pytest.approx(62.832, abs=0.0005)


@pytest.mark.parametrize("viscosity", [100e-6, 490e-6])
def test_laminar_line_against_fluids(viscosity: float) -> None:
    """Hagen-Poiseuille in 2 m of 8 mm bore against the friction factor of `fluids` (64/Re)."""
    flow, bore, length, density = 10.0 / 60_000, 0.008, 2.0, 870.0
    velocity = flow / (math.pi / 4 * bore**2)
    number = reynolds(flow, bore, viscosity)
    assert number == pytest.approx(fluids.Reynolds(V=velocity, D=bore, nu=viscosity), rel=1e-12)
    assert number < 2000
    drop = fluids.friction_factor(Re=number) * length / bore * density * velocity**2 / 2
    assert line_resistance_pa_s_m3(viscosity, density, length, bore) * flow == pytest.approx(drop, rel=1e-9)


def test_orifice_against_fluids() -> None:
    """Q = Cd·a·√(2Δp/ρ): the loss coefficient 1/Cd² of `fluids.dP_from_K` gives the pressure back."""
    discharge, area, density = 0.62, 8e-6, 870.0
    way = Way(orifice_m2=discharge * area, density_kg_m3=density)
    velocity = way.flow_m3_s(50e5) / area
    assert fluids.dP_from_K(K=1 / discharge**2, rho=density, V=velocity) == pytest.approx(50e5, rel=1e-12)
