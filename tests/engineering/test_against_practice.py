"""
The computed strokes against the practice unit, which solves the same physics in its own way: stepped in time, with
stiff oil, air and an accumulator, and without a formula in common. What one of them gets wrong, the other shows.
"""

import pytest

from commission.engineering.moving import Conditions
from commission.practice.condition import Condition
from commission.practice.hydraulics import Hydraulics
from commission.practice.mechanism import Mechanism
from commission.practice.outlets import Ways
from commission.sheet.model import End
from tests.engineering.units import mover_of, sheet_of, unit_of

STEP_S = 0.01


def practice(**condition: float) -> Hydraulics:
    """The oil of XV-1101 with planted findings."""
    found = Condition(**condition)  # type: ignore[arg-type]  # names checked by Condition
    return Hydraulics(sheet_of("xv-1101"), found, Mechanism(sheet_of("xv-1101"), found))


def closed_in(oil: Hydraulics, ways: Ways, until_pct: float = 0.01) -> tuple[float, float, float]:
    """Seconds from first motion to a travel, bar just after first motion, bar there."""
    oil.set_state(oil.mechanism.stroke_m, 125e5, 0.0)
    seconds, first_bar = 0.0, 0.0
    for _ in range(10_000):
        oil.step(STEP_S, ways)
        if oil.travel_pct < 99.999:
            first_bar = first_bar or oil.pressure_pa / 1e5
            seconds += STEP_S
        if oil.travel_pct <= until_pct:
            return seconds, first_bar, oil.pressure_pa / 1e5
    raise AssertionError("the practice unit does not get there")


@pytest.mark.parametrize("friction", [1.0, 1.45, 2.0])
def test_closing_with_more_and_more_friction(friction: float) -> None:
    """Times within 2 %, pressure at first motion within 2 %."""
    seconds, first_bar, _ = closed_in(practice(friction_factor=friction), Ways(dump_open=True))
    ours = mover_of("xv-1101").stroke(End.CLOSED, Conditions(load_share=0.55 * friction))
    assert ours is not None
    assert ours.time_s == pytest.approx(seconds, rel=0.02)
    assert ours.start_pa / 1e5 == pytest.approx(first_bar, rel=0.02)


@pytest.mark.parametrize(
    ("planted", "conditions"),
    [
        ({"spring_factor": 0.9}, Conditions(spring_factor=0.9)),
        ({"orifice_factor": 0.7}, Conditions(area_factor=0.7)),
        ({"return_back_pressure_bar": 5.0}, Conditions(back_pa=5e5)),
    ],
    ids=["weak spring", "needle", "back pressure"],
)
def test_closing_with_other_troubles(planted: dict[str, float], conditions: Conditions) -> None:
    """Each moves the stroke by the same amount on both sides, within 2 %."""
    seconds, _, _ = closed_in(practice(**planted), Ways(dump_open=True))
    ours = mover_of("xv-1101").stroke(End.CLOSED, conditions)
    assert ours is not None
    assert ours.time_s == pytest.approx(seconds, rel=0.02)


def test_the_partial_stroke() -> None:
    """15 % through its own path, within 3 %."""
    seconds, _, bar = closed_in(practice(), Ways(partial_open=True), until_pct=85.0)
    ours = mover_of("xv-1101").partial(0.15)
    assert ours is not None
    assert ours.time_s == pytest.approx(seconds, rel=0.03)
    assert ours.end_pa / 1e5 == pytest.approx(bar, rel=0.03)


def test_the_pumped_stroke() -> None:
    """The practice pump does not slip with pressure: at its stated flow the two agree within 1 %."""
    oil, flow, seconds = practice(), unit_of("xv-1101").pump.stated_m3_s, 0.0
    while oil.travel_pct < 99.99 and seconds < 200:
        oil.step(0.05, Ways(pump_m3_s=flow))
        seconds += 0.05 if oil.travel_pct > 1e-6 else 0.0
    ours = mover_of("xv-1101").stroke(End.OPEN)
    assert ours is not None
    assert ours.time_s == pytest.approx(seconds, rel=0.01)


def test_filling_the_accumulator_stores_the_same_oil() -> None:
    """Oil taken up between cut-in and cut-out at the end of travel: gas and compression, within 2 %."""
    oil, unit = practice(free_air_ml=0.0), unit_of("xv-1101")
    oil.set_state(oil.mechanism.stroke_m, unit.cut_in_pa, 0.0)
    theirs = oil.short_of_m3(unit.cut_out_pa)
    assert unit.charge is not None
    gas = unit.charge.usable_m3(unit.cut_in_pa + 101_325, unit.cut_out_pa + 101_325)
    ours = gas + unit.drive.stroke_m3(End.OPEN) * (unit.cut_out_pa - unit.cut_in_pa) / unit.bulk_pa
    assert ours == pytest.approx(theirs, rel=0.02)
