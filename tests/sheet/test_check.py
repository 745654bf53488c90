"""Tests of what a sheet can get wrong although every field is well formed."""

import pytest

from tests.sheet.xv import problems_of, xv_1101

TRAVEL = 'role = "travel"\ntable = "input"\naddress = 10\ntype = "f32"\nunit = "%"'
ALARM = 'role = "alarm_run_time"\ntable = "input"\naddress = 26\nbit = 0'
REST = "the spring holds the valve closed"
SPRING = f'action = "spring-return"\nfail_position = "closed"\nfail_effect = "shuts in"\nat_zero_pressure = "{REST}"'
MOTOR = 'kind = "motor"\nlocked = "first"'
CONTROL = 'kind = "control"\nlocked = "after zero"\noff_in_control = false'

EMERGENCY = "[strokes.emergency]\nexpected_s = 8.0\nshortest_s = 7.0\nlongest_s = 9.0\n\n[partial_stroke]"
MODULATING = """
[modulating]
command = { unit = "mA", at_closed = 4.0, at_open = 4.0 }
feedback = { unit = "mA", at_closed = 4.0, at_open = 20.0 }
dead_band_pct = 0.5
dead_time_s = 0.3
speed_pct_s = 12.5

[behaviour]"""

CASES = {
    "role unknown": ((TRAVEL, TRAVEL.replace("travel", "travle")),
        "role: found 'travle', expected a known role; did you mean 'travel'?"),
    "role twice": ((TRAVEL, TRAVEL.replace("travel", "motor_current")), "the role twice"),
    "list from 1 with 0": (("counts_from = 0", "counts_from = 1"), "expected 1 or more: the list counts from 1"),
    "past the last address": ((TRAVEL, TRAVEL.replace("10", "65535")), "expected an address within 0 … 65535"),
    "register taken": ((TRAVEL, TRAVEL.replace("10", "11")), "input 12, which is also 'travel'"),
    "a bit in a taken register": ((ALARM, ALARM.replace("26", "12")), "which is also 'cylinder_pressure'"),
    "a bit twice": ((ALARM, ALARM.replace("bit = 0", "bit = 1")), "input 26, which is also 'alarm_run_time'"),
    "a register over packed bits": (("address = 24\ntype", "address = 25\ntype"),
        "point 'alarm_run_time': address: found input 26, which is also 'pipeline_pressure'"),
    "written where nothing is": (('role = "command_open"\ntable = "coil"', 'role = "command_open"\ntable = "discrete"'),
        "coil or holding: it is written"),
    "unit of something else": ((TRAVEL, TRAVEL.replace("%", "bar")),
        "found 'bar', expected a unit that can be given in '1'"),
    "unit that is none": ((TRAVEL, TRAVEL.replace('"%"', '"2**99999999"')), "unit: found '2**99999999'"),
    "alive unknown": (('alive = "supply_voltage"', 'alive = "suply_voltage"'), "did you mean 'supply_voltage'?"),
    "alive is a bit": (('alive = "supply_voltage"', 'alive = "open_limit"'), "a counter, a clock, a noisy analogue"),
    "alive is cleared": (('unit = "V"', 'unit = "V"\nread_clears = true'), "reading clears"),
    "spring without end": (('fail_position = "closed"\n', ""), "actuator: fail_position: found nothing"),
    "spring without force": (
        ("[spring]\nforce_at_closed_n = 46000.0\nforce_at_open_n = 80000.0\ntolerance_pct = 1.0\n", ""),
        "spring: found nothing, expected the spring's force at both ends"),
    "no spring, no rest": ((SPRING, SPRING.replace("spring-return", "double-acting").replace(REST, " ")),
        "where line force or weight takes the stem"),
    "arm without radius": (("arm_radius_mm = 160.0\n", ""), "the radius of the slotted arm"),
    "vent with partial stroke": (("full_travel = 90.0", "full_travel = 90.0\nnormally_closed_vent = true"),
        "a normally closed vent would release product"),
    "cut-out below cut-in": (("cut_out_bar = 125.0", "cut_out_bar = 100.0"),
        "cut_in_bar: found 105, expected less than cut_out_bar, which is 100"),
    "relief below cut-out": (("relief_bar = 140.0", "relief_bar = 120.0"), "pump: cut_out_bar"),
    "trips crossed": (("low_trip_bar = 50.0", "low_trip_bar = 71.0"), "monitor: low_trip_bar: found 71"),
    "trip past its range": (("high_trip_bar = 70.0", "high_trip_bar = 101.0"), "monitor: high_trip_bar: found 101"),
    "guard inside target": (("guard_travel_pct = 20.0", "guard_travel_pct = 15.0"), "target_pct: found 15"),
    "tank too full": (("fill_l = 11.0", "fill_l = 13.0"), "tank: fill_l: found 13"),
    "cold above hot": (("coldest_c = -40.0", "coldest_c = 50.0"), "environment: coldest_c: found 50"),
    "rod in bore": (("stroke_mm = 320.0", "stroke_mm = 320.0\nrod_mm = 125.0"), "actuator: rod_mm: found 125"),
    "viscosity of warm": (('"40" = 14.0', '"warm" = 14.0'), "viscosity_at_c 'warm': found no temperature"),
    "viscosity zero": (('"40" = 14.0', '"40" = 0.0'), "mm²/s above 0"),
    "no motor": ((MOTOR, MOTOR.replace("motor", "process")), "the isolating device of the motor supply"),
    "motor late": ((MOTOR, MOTOR.replace("first", "after zero")), "source 'motor': locked"),
    "motor on in control": ((MOTOR, f"{MOTOR}\noff_in_control = false"), "the motor stays locked in control"),
    "control first": ((CONTROL, CONTROL.replace("after zero", "first")), "with control still on"),
    "control off in control": ((CONTROL, CONTROL.replace("false", "true")), "control is what is on in control"),
    "source twice": (('id = "battery"', 'id = "array"'), "sources 'array': id: found the same id twice"),
    "volume without id": (('id = "hand-pump"', 'id = ""'), "volumes: id: found nothing"),
    "oil without gauge": (('gauge = "PG-3"\n', ""), "volume 'hand-pump': gauge: found nothing"),
    "oil without bleed": (('bleed = "BV-3"\n', ""), "volume 'hand-pump': bleed: found nothing"),
    "gear without radius": (('mechanism = "slotted arm"', 'mechanism = "rack and gear"'),
        "the pitch radius of the gear"),
    "accumulator drives without limits": (("precharge_at_c = 20.0", 'precharge_at_c = 20.0\ndrives = "closed"'),
        "strokes: emergency: found nothing"),
    "emergency stroke without energy": (("[partial_stroke]", EMERGENCY), "accumulator: drives: found nothing"),
    "signal without span": (("[behaviour]", MODULATING), "modulating: command: found 4 at both ends"),
    "heater off before on": (
        ("hottest_c = 45.0", "hottest_c = 45.0\nheater_w = 9.0\nheater_on_c = 9.0\nheater_off_c = 9.0"),
        "environment: heater_on_c: found 9, expected less than heater_off_c"),
    "no link, but points": (('protocol = "rtu"', 'protocol = "none"'), "rtu or tcp: the sheet names points"),
    "transmitter unknown": (('transmitter = "cylinder_pressure"', 'transmitter = "cylinder_presure"'),
        "mean 'cylinder_pressure'?"),
}  # fmt: skip


@pytest.mark.parametrize(("change", "words"), CASES.values(), ids=CASES.keys())
def test_a_contradiction_is_named(change: tuple[str, str], words: str) -> None:
    """One change to a sound sheet gives a problem that names place, what was found and what was expected."""
    problems = problems_of(change)
    assert [problem for problem in problems if words in problem], problems


def test_the_sound_sheet_has_no_contradiction() -> None:
    """The cases above change something that was right."""
    assert problems_of() == []


def test_contradictions_are_told_together() -> None:
    """Several in one sheet come in one go."""
    problems = problems_of(
        (TRAVEL, TRAVEL.replace("%", "bar")), ("fill_l = 11.0", "fill_l = 13.0"), (MOTOR, MOTOR + " ")
    )
    assert len(problems) == 2


def test_no_oil_is_a_contradiction() -> None:
    """An actuator that works with oil has at least one volume to prove zero (safety rule R2)."""
    problems = problems_of(
        *[(f'kind = "oil"\ngauge = "PG-{n}"', f'kind = "line gas"\ngauge = "PG-{n}"') for n in (1, 2, 3)]
    )
    assert [problem for problem in problems if "no oil volume" in problem]


def test_a_point_that_only_shows_life_may_share_its_register() -> None:
    """A counter that another role reads may also be the point that shows life."""
    alive = '\n[[points]]\nrole = "alive"\ntable = "input"\naddress = 19\n\n[[points]]\nrole = "starts_total"'
    assert (
        problems_of(('\n[[points]]\nrole = "starts_total"', alive), ('alive = "supply_voltage"', 'alive = "alive"'))
        == []
    )


def test_addresses_of_other_tables_do_not_collide() -> None:
    """Input 10, holding 10 and coil 0, discrete 0 are different things."""
    sheet = xv_1101()
    addresses = [(point.table, point.address) for point in sheet.points if point.bit is None]
    assert len({address for _, address in addresses}) < len(addresses) == len(set(addresses))
