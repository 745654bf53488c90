"""Looking and acting beside the unit, and what refuses to be done."""

import contextlib

import pytest

from commission.practice.acts import ACTS, Act, NotDone
from commission.practice.site import READS, SiteDesk
from tests.practice.made import FCV, SHEET, MakeUnit, unit_of


@pytest.mark.parametrize(
    ("bleed", "gauge", "other"), [("BV-1", "PG-1", "PG-3"), ("BV-2", "PG-2", "PG-3"), ("BV-3", "PG-3", "PG-1")]
)
def test_each_gauge_falls_with_its_own_bleed(make_unit: MakeUnit, bleed: str, gauge: str, other: str) -> None:
    """Closed and energised every gauge stands above zero; opening a bleed empties its volume and not the others."""
    unit = make_unit()
    desk = SiteDesk(unit)
    before = desk.read("gauges")
    desk.act("bleed", True, which=bleed)
    unit.advance(3.0)
    after = desk.read("gauges")
    assert before[gauge] > 5.0
    assert after[gauge] == 0.0
    assert after[other] == before[other]


def test_accumulator_has_a_zero_of_its_own_behind_its_valve(make_unit: MakeUnit) -> None:
    """Its ball valve shut, bleeding the cylinder leaves the accumulator loaded."""
    unit = make_unit("open")
    desk = SiteDesk(unit)
    desk.act("accumulator_valve", False)
    desk.act("bleed", True, which="BV-1")
    unit.advance(60.0)
    assert desk.read("gauges")["PG-2"] == 125.0
    desk.act("bleed", True, which="BV-2")
    unit.advance(10.0)
    assert desk.read("gauges")["PG-2"] == 0.0


def test_bleed_left_open_stays_zero(make_unit: MakeUnit) -> None:
    """No rise in five minutes."""
    unit = make_unit()
    desk = SiteDesk(unit)
    desk.act("all_bleeds", True)
    unit.advance(3.0)
    unit.advance(300.0)
    assert set(desk.read("gauges").values()) == {0.0}


def test_hand_pump_makes_a_test_pressure(make_unit: MakeUnit) -> None:
    """After zero, pumping to 30 bar raises cylinder and hand pump gauges and moves nothing."""
    unit = make_unit()
    desk = SiteDesk(unit)
    desk.act("all_bleeds", True)
    unit.advance(5.0)
    desk.act("all_bleeds", False)
    desk.act("hand_pump", 30.0)
    unit.advance(20.0)
    gauges = desk.read("gauges")
    assert gauges["PG-1"] == pytest.approx(30.0, abs=2.0)
    assert gauges["PG-3"] == pytest.approx(30.0, abs=2.0)
    assert unit.truth().travel_pct == 0.0


def test_hand_pump_can_open_the_valve(make_unit: MakeUnit) -> None:
    """Pumped above the opening pressure the valve follows, with motor and pump locked off."""
    unit = make_unit()
    desk = SiteDesk(unit)
    desk.act("motor_isolator", False)
    desk.act("hand_pump", 130.0)
    unit.advance(120.0)
    assert unit.truth().travel_pct > 5.0


def test_try_start_does_nothing_with_the_motor_locked(make_unit: MakeUnit) -> None:
    """The contactor closes, no current flows, nothing moves."""
    unit = make_unit()
    desk = SiteDesk(unit)
    desk.act("selector", "LOCAL")
    desk.act("motor_isolator", False)
    desk.act("local_open")
    unit.advance(5.0)
    assert unit.readings()["motor_running"] == 1.0
    assert unit.readings()["motor_current"] < 0.1
    assert unit.truth().travel_pct == 0.0


def test_local_buttons_are_refused_in_remote(make_unit: MakeUnit) -> None:
    """The panel speaks only in LOCAL; its STOP always does."""
    desk = SiteDesk(make_unit())
    with pytest.raises(NotDone, match="REMOTE"):
        desk.act("local_open")
    desk.act("local_stop")


def test_nitrogen(make_unit: MakeUnit) -> None:
    """The finding of the guide: 62 bar at 4 °C; charged to 90 only at zero oil pressure."""
    unit = make_unit(precharge_bar=65.6, oil_c=4.0)
    desk = SiteDesk(unit)
    assert desk.read("precharge") == pytest.approx(62.0, abs=0.2)
    with pytest.raises(NotDone, match="not at zero"):
        desk.act("charge_nitrogen", 90.0)
    desk.act("all_bleeds", True)
    unit.advance(3.0)
    desk.act("charge_nitrogen", 90.0)
    assert desk.read("precharge") == 90.0


def test_loose_closed_limit_chatters_until_tightened(make_unit: MakeUnit) -> None:
    """The contact comes and goes in a ten-a-second log; tightened, it stays."""
    unit = make_unit(closed_limit_chatters=True)
    seen = set()
    for _ in range(100):
        unit.advance(0.1)
        seen.add(unit.readings()["closed_limit"])
    assert seen == {0.0, 1.0}
    SiteDesk(unit).act("tighten_closed_limit")
    seen = set()
    for _ in range(100):
        unit.advance(0.1)
        seen.add(unit.readings()["closed_limit"])
    assert seen == {1.0}


def test_control_room_sees_alarm_when_power_is_gone(make_unit: MakeUnit) -> None:
    """Alarm, power off and wire cut look the same to the controller: contact open."""
    for act in (("lift_float", True), ("control_supply", False), ("loop_24v", False)):
        unit = make_unit("open")
        desk = SiteDesk(unit)
        assert desk.read("control_room")["alarm_contact_closed"] is True
        desk.act(*act)
        unit.advance(0.1)
        assert desk.read("control_room")["alarm_contact_closed"] is False


@pytest.mark.parametrize("name", sorted(READS))
def test_everything_can_be_looked_at(make_unit: MakeUnit, name: str) -> None:
    """Each look gives plain data."""
    assert SiteDesk(make_unit()).read(name) is not None


@pytest.mark.parametrize("name", sorted(ACTS))
def test_every_act_is_known(make_unit: MakeUnit, name: str) -> None:
    """No act of the list fails in any other way than by refusing; its plural is no act."""
    with contextlib.suppress(NotDone):
        SiteDesk(make_unit()).perform(Act(name=name, value="sideways", which="BV-1"))
    with pytest.raises(NotDone, match="no act"):
        SiteDesk(make_unit()).act(name + "s")


def test_a_jog_runs_as_long_as_it_should_and_stops(make_unit: MakeUnit) -> None:
    """Button, time and STOP in one act; from the panel, or the control room's command with the panel's STOP."""
    unit = make_unit()
    desk = SiteDesk(unit, skip=unit.advance)
    desk.act("selector", "LOCAL")
    unit.advance(1.0)
    desk.act("jog", 40.0, which="open")
    opened = unit.stem_pct
    assert 20 < opened < 26
    unit.advance(20.0)
    assert unit.stem_pct == pytest.approx(opened, abs=0.2)
    desk.act("jog", 0.5, which="close")
    assert 5 < unit.stem_pct < opened
    with pytest.raises(NotDone, match="selector in LOCAL"):
        desk.act("jog", 5.0, which="remote open")
    with pytest.raises(NotDone, match="expected one of open, close"):
        desk.act("jog", 5.0, which="sideways")


def test_a_signal_jogs_a_unit_that_follows_its_loop() -> None:
    """The whole signal of an end, time, STOP; a unit that follows none is not moved so."""
    unit = unit_of(FCV)
    unit.advance(30.0)
    desk = SiteDesk(unit, skip=unit.advance)
    desk.act("jog", 3.0, which="loop open")
    assert 20 < unit.stem_pct < 45
    with pytest.raises(NotDone, match="expected one of open, close"):
        SiteDesk(unit_of(SHEET)).act("jog", 1.0, which="loop open")


def test_what_was_promised_is_done_within_time_that_is_let_pass() -> None:
    """A bleed cracked and shut ten seconds later lets out the same, however long the unit is left alone after it."""
    left_bar = []
    for waits_s in (15.0, 600.0):
        unit = unit_of(FCV)
        unit.advance(40.0)
        desk = SiteDesk(unit, skip=unit.advance)
        for act in (Act(name="motor_isolator", value=False), Act(name="bleed", which="BV-3", value=0.06)):
            desk.perform(act)
        desk.perform(Act(name="bleed", which="BV-3", value=False, in_s=10.0))
        desk.act("let_time_pass", waits_s)
        unit.advance(615.0 - waits_s)
        assert unit.side.bleeds["BV-3"] == 0.0
        left_bar.append(unit.hydraulics.accumulator_pa / 1e5)
    assert left_bar[0] == pytest.approx(left_bar[1], abs=0.2)
    assert left_bar[0] > 95


def test_unknown_act_names_the_known_ones(make_unit: MakeUnit) -> None:
    """So does a bleed valve or a look that is not there."""
    desk = SiteDesk(make_unit())
    with pytest.raises(NotDone, match="motor_isolator"):
        desk.act("moter_isolator", False)
    with pytest.raises(NotDone, match="BV-1"):
        desk.act("bleed", True, which="BV-9")
    with pytest.raises(NotDone, match="gauges"):
        desk.read("gages")


def test_volts_on_the_alarm_loop(make_unit: MakeUnit) -> None:
    """24 is healthy; alarm, power off and a cut core are none, all alike."""
    desk = SiteDesk(make_unit())
    assert desk.read("alarm_volts") == 24.0
    for name, wrong, right in (
        ("lift_float", True, False),
        ("control_supply", False, True),
        ("alarm_wire_cut", True, False),
    ):
        desk.act(name, wrong)
        desk.unit.advance(0.5)
        assert desk.read("alarm_volts") == 0.0
        assert not desk.read("control_room")["alarm_contact_closed"]
        desk.act(name, right)
        desk.unit.advance(0.5)


def test_somebody_says_that_they_will_do_it_later(make_unit: MakeUnit) -> None:
    """In twenty seconds of unit time, not before, once; what is not possible then is left out."""
    unit = make_unit()
    desk = SiteDesk(unit)
    desk.perform(Act(name="link_cut", value=True, in_s=20.0))
    desk.perform(Act(name="local_open", in_s=20.0))  # in REMOTE the unit refuses it
    cut = []
    for seconds in (19.0, 2.0):
        unit.advance(seconds)
        desk.live()
        cut.append(unit.side.link_cut)
    desk.act("link_cut", False)
    desk.live()
    assert [*cut, unit.side.link_cut] == [False, True, False]
