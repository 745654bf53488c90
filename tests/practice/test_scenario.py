"""The scenarios hold what the station's pages say of them (trade guide 10.5, 10.6 and 10.8)."""

from collections.abc import Callable
from pathlib import Path

import pytest
from msgspec.structs import replace

from commission.content import ContentError
from commission.practice.condition import Condition
from commission.practice.day import Day
from commission.practice.faults import NoSuchFault
from commission.practice.orders import Order
from commission.practice.scenario import condition_of, load_scenarios, scenario_of
from commission.practice.setup import setup_of
from commission.practice.unit import PracticeUnit
from commission.sheet import End, Sheet
from tests.practice.made import BDV, FCV, SHEET, SHEETS, wait


def on_the_day(name: str, sheet: Sheet, start: str = "") -> PracticeUnit:
    """A unit as a scenario leaves it."""
    scenario = scenario_of(name, sheet.identity.tag)
    return PracticeUnit(sheet, condition=condition_of(scenario, sheet), start=End(start or scenario.start), seed=2)


def test_every_scenario_can_be_played() -> None:
    """Each names a unit that there is, and makes a condition for it; each unit has the two that its reports need."""
    scenarios = load_scenarios()
    for scenario in scenarios:
        sheet = SHEETS[scenario.unit]
        PracticeUnit(sheet, condition=condition_of(scenario, sheet), start=End(scenario.start)).advance(0.5)
    for tag in ("XV-1101", "FCV-2204", "BDV-3307"):
        assert {"planted-findings", "twelve-months-later"} <= {found.name for found in scenarios if found.unit == tag}


def test_planted_precharge() -> None:
    """The kit reads 62 bar at 4 °C where 89.8 belong; low trip delay 0.5 s; the closed limit chatters."""
    unit = on_the_day("planted-findings", SHEET)
    assert unit.hydraulics.precharge_pa / 1e5 == pytest.approx(62.0, abs=0.5)
    assert unit.settings.trip_low_delay_s == 0.5
    assert unit.limits.chatters


def test_planted_feedback_span() -> None:
    """4.06, 8.02, 11.95, 15.86 and 19.76 mA at the five points, and the pump turns backwards."""
    unit = on_the_day("planted-findings", FCV)
    found = [unit.sensor.feedback_ma(travel) for travel in (0.0, 25.0, 50.0, 75.0, 100.0)]
    assert found == pytest.approx([4.06, 8.02, 11.95, 15.86, 19.76])
    unit.electrics.step(3.0, powered=True, pressure_pa=0.0)
    assert unit.electrics.flow_m3_s == 0.0


def test_planted_dead_band_is_in_the_stem() -> None:
    """0.9 % of play: after a reversal the stem stays behind the actuator by as much."""
    unit = on_the_day("planted-findings", FCV)
    unit.side.command_signal = 12.0
    unit.advance(10.0)
    up_pct = unit.truth().stem_pct - unit.truth().travel_pct
    unit.side.command_signal = 10.4
    unit.advance(10.0)
    down_pct = unit.truth().stem_pct - unit.truth().travel_pct
    assert down_pct - up_pct == pytest.approx(0.9, abs=0.01)


def test_planted_needle_and_heater() -> None:
    """BDV-3307: opening 40.0 s with the needle at a quarter; no pump at -6 °C, and the heater draws 0 W."""
    unit = on_the_day("planted-findings", BDV)
    assert unit.settings.run_limit_s == 300.0
    unit.order(Order.CLOSE, remote=True)
    unit.advance(2.0)
    assert not unit.truth().pump_on
    assert unit.truth().heater_w == 0.0
    warm = PracticeUnit(BDV, condition=_warm(), start=End.CLOSED)
    warm.order(Order.OPEN, remote=True)
    wait(warm, lambda truth: truth.travel_pct > 0.0, step_s=0.05)
    assert wait(warm, lambda truth: truth.travel_pct > 99.99, step_s=0.05) == pytest.approx(40.0, rel=0.02)


def _warm() -> Condition:
    return replace(condition_of(scenario_of("planted-findings", "BDV-3307"), BDV), oil_c=20.0)


def test_twelve_months_later_the_packing() -> None:
    """First close 8.97 s, 48.2 bar at its start, partial stroke 10.65 s, breakaway opening 60 bar."""
    unit = on_the_day("twelve-months-later", SHEET)
    unit.order(Order.PARTIAL_STROKE, remote=True)
    wait(unit, lambda truth: truth.travel_pct < 99.99)
    out_s = wait(unit, lambda truth: truth.partial_phase == "back")
    assert out_s == pytest.approx(10.65, rel=0.03)
    wait(unit, lambda truth: truth.partial_phase == "none" and not truth.pump_on)
    unit.order(Order.CLOSE, remote=True)
    wait(unit, lambda truth: truth.travel_pct < 99.99)
    start_bar = unit.truth().pressure_bar
    assert wait(unit, lambda truth: truth.travel_pct < 0.01) == pytest.approx(8.97, rel=0.02)
    assert start_bar == pytest.approx(48.2, abs=1.0)
    assert unit.hydraulics.travel_pct < 0.01


def test_twelve_months_later_an_evening_starts_the_motor_nine_times() -> None:
    """No leak: 18 °C of cooling between 18:00 and 21:00 uses the 20 bar band nine times; a sound unit starts never."""
    slow = replace(BDV, link=replace(BDV.link, scan_s=1.0))
    scenario = scenario_of("twelve-months-later", "BDV-3307")
    counted = {}
    for name, condition in (
        ("lost", replace(condition_of(scenario, BDV), start_hour=17.0)),
        ("sound", replace(condition_of(scenario, BDV), start_hour=17.0, precharge_bar=None)),
    ):
        unit = PracticeUnit(slow, condition=condition, start=End.CLOSED, seed=2)
        oil_l, starts, by_hour = unit.truth().oil_l, unit.starts_total, []
        for _ in range(6):
            before = unit.starts_total
            unit.advance(3600.0)
            by_hour.append(unit.starts_total - before)
        counted[name] = (unit.starts_total - starts, sum(by_hour[1:4]))
        assert unit.truth().oil_l == pytest.approx(oil_l, rel=1e-10)
    assert counted["lost"][0] == pytest.approx(9, abs=1)
    assert counted["lost"][1] >= counted["lost"][0] - 1
    assert counted["sound"][0] == 0


def test_a_wrong_file_says_where(tmp_path: Path) -> None:
    """An unknown fault and a name twice are named with the file."""
    path = tmp_path / "mine.toml"
    path.write_text('[[scenarios]]\nname = "x"\nunit = "XV-1101"\nabout = ""\nfaults = { "worn-pomp" = 0.5 }\n')
    with pytest.raises(ContentError, match="did you mean 'worn-pump'"):
        load_scenarios(path)
    one = '[[scenarios]]\nname = "x"\nunit = "XV-1101"\nabout = ""\n'
    path.write_text(one + one)
    with pytest.raises(ContentError, match="twice for XV-1101"):
        load_scenarios(path)
    with pytest.raises(NoSuchFault, match="did you mean planted-findings"):
        scenario_of("planted-finding", "XV-1101")


@pytest.mark.parametrize(
    ("tag", "shows"),
    [
        ("XV-1101", lambda unit: unit.readings()["run_limit"] == 600.0),
        ("FCV-2204", lambda unit: unit.readings()["deviation_limit"] == 0.2 and unit.onboard.set_point_pct == 60.0),
        ("BDV-3307", lambda unit: unit.truth().wanted == "open"),
    ],
)
def test_a_second_master_changes_something(tag: str, shows: Callable[[PracticeUnit], bool]) -> None:
    """At nine by the unit's clock, and not before: what the laptop reads then is not what it left."""
    setup = setup_of(SHEETS[tag], "second-master")
    unit = PracticeUnit(SHEETS[tag], condition=setup.condition, start=End(setup.start), seed=2)
    unit._scan_ns = 500_000_000
    unit.order(Order.CLOSE, remote=True) if tag == "BDV-3307" else None
    day = Day(unit, setup.events)
    for _ in range(58):
        unit.advance(60.0)
        day.live()
    assert not shows(unit)
    unit.advance(180.0)
    assert day.live()
    unit.advance(1.0)
    assert shows(unit)


def test_frost_holds_the_dump_in_the_morning_only() -> None:
    """At six it is -12 °C around the oil at -4 °C, and a trip waits; with the oil at 9 °C it goes at once."""
    unit = on_the_day("frost", SHEET)
    assert unit.climate.air_c == pytest.approx(-12.0)
    mild = replace(condition_of(scenario_of("frost", "XV-1101"), SHEET), oil_c=9.0)
    for condition, least_s, most_s in ((unit.condition, 0.4, 1e9), (mild, 0.0, 0.4)):
        waiting = PracticeUnit(SHEET, condition=condition, start=End.OPEN, seed=2)
        waiting.order(Order.CLOSE, remote=True)
        waited_s = 0.0
        while waiting.truth().travel_pct > 99.9 and waited_s < 30.0:
            waiting.advance(0.1)
            waited_s += 0.1
        assert least_s < waited_s < most_s
