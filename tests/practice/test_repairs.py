"""What a fitter or an electrician sets right, and where nobody may."""

import pytest

from commission.practice.acts import NotDone
from commission.practice.repairs import REPAIRS
from commission.practice.site import SiteDesk
from tests.practice.made import BDV, FCV, PCV, SHEET, unit_of, wait


def test_a_heater_is_rewired_dead_and_then_warms_the_oil() -> None:
    """The clamp shows nothing before; rewired and fed, 150 W, and an hour later the pump may start."""
    unit = unit_of(BDV, "open", oil_c=-6.0, heater_dead=True)
    desk = SiteDesk(unit, skip=unit.advance)
    assert (desk.read("heater_w"), unit.climate.oil_too_cold) == (0, True)
    with pytest.raises(NotDone, match="works on it dead and locked"):
        desk.act("put_right", "heater")
    desk.act("heater_isolator", False)
    desk.act("put_right", "heater")
    assert desk.read("heater_w") == 0
    desk.act("heater_isolator", True)
    assert desk.read("heater_w") == 150
    for _ in range(4):
        desk.act("let_time_pass", 900)
    assert not unit.climate.oil_too_cold


def test_a_contact_from_the_wrong_side_is_changed() -> None:
    """Without power it then opens."""
    unit = unit_of(BDV, "open", alarm_contact_inverted=True)
    desk = SiteDesk(unit, skip=unit.advance)
    unit.advance(1.0)
    desk.act("control_supply", False)
    unit.advance(1.0)
    assert desk.read("control_room")["alarm_contact_closed"]
    desk.act("put_right", "alarm contact")
    assert not desk.read("control_room")["alarm_contact_closed"]


def test_two_phases_are_swapped_once() -> None:
    """The tester says so; a second time would turn it backwards again, and nobody does that."""
    unit = unit_of(FCV, phases_reversed=True)
    desk = SiteDesk(unit, skip=unit.advance)
    assert desk.read("rotation") == "reversed"
    with pytest.raises(NotDone, match="locked off first"):
        desk.act("put_right", "rotation")
    desk.act("motor_isolator", False)
    for _ in range(2):
        desk.act("put_right", "rotation")
        assert desk.read("rotation") == "as marked"


def test_the_needle_set_by_the_sheet_opens_it_four_times_as_fast() -> None:
    """From a quarter of its area, 40 s of opening become 10."""
    took_s = []
    for repaired in (False, True):
        unit = unit_of(BDV, "closed", orifice_factor=0.25)
        desk = SiteDesk(unit, skip=unit.advance)
        unit.advance(1.0)
        if repaired:
            desk.act("motor_isolator", False)
            desk.act("put_right", "needle")
        desk.act("selector", "LOCAL")
        unit.advance(0.5)
        desk.act("local_open")
        wait(unit, lambda truth: truth.travel_pct < 99)
        took_s.append(wait(unit, lambda truth: truth.travel_pct >= 99.0))
    assert took_s[0] == pytest.approx(4 * took_s[1], rel=0.03)
    assert took_s[1] == pytest.approx(10.0, rel=0.08)


def test_span_and_coupling_are_set_right() -> None:
    """4 to 20 mA, and no play between sensor and stem."""
    unit = unit_of(FCV, feedback_ma_at=(4.06, 8.02, 11.95, 15.86, 19.76), lost_motion_pct=0.9)
    desk = SiteDesk(unit, skip=unit.advance)
    desk.act("motor_isolator", False)
    for name in ("feedback", "coupling"):
        desk.act("put_right", name)
    assert unit.sensor.feedback_ma(100.0) == 20.0
    assert unit.play_pct == 0.0


@pytest.mark.parametrize(
    ("sheet", "name", "words"),
    [(SHEET, "heater", "has no heater"), (PCV, "needle", "and no needle"), (BDV, "seal", "expected heater, alarm")],
)
def test_what_is_not_there_is_not_set_right(sheet: object, name: str, words: str) -> None:
    """With the reason; every repair is a name of its own."""
    assert name not in REPAIRS or len(REPAIRS) == 6
    with pytest.raises(NotDone, match=words):
        SiteDesk(unit_of(sheet)).act("put_right", name)  # type: ignore[arg-type]  # one of the four sheets
