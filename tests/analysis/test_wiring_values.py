"""What came of comparing values with references, in words and lines for the sheet."""

import msgspec
import pytest

from commission.analysis.wiring import Finding, PointSeen
from commission.analysis.wiring_map import Reference
from commission.analysis.wiring_values import Compared, judge_values, measured_roles, shown, words_of
from commission.quantity import conversion
from commission.sheet import Sheet
from commission.sheet.decode import Registers
from commission.sheet.roles import ROLES
from tests.shuffled import TRUTH, registers_of, shuffled
from tests.supervise.rig import demo_sheet

SHEET = demo_sheet()
OTHERS = ("travel", "cylinder_pressure", "motor_current", "fluid_level", "feedback_current")
WIDE = {"supply_voltage": 0.02, "pipeline_pressure": 0.1e5, "oil_temperature": 0.5}


def compared(sheet: Sheet, registers: Registers, role: str, value: float | None = None) -> Compared:
    """What the sheet makes of the registers beside a reference, the truth where none is given."""
    from commission.analysis.wiring_map import read_as

    point = sheet.point(role)
    assert point is not None
    truth = TRUTH[role] if value is None else value
    own = conversion(point.unit, ROLES[role].unit or "1").undo(truth)
    return Compared(
        reference=Reference(role=role, value=truth, uncertainty=WIDE.get(role, 0.0)),
        typed=f"{own:g} {point.unit}",
        by="Juno Demoval",
        value=read_as(sheet, point, registers.word),
        spread=0.0,
        registers=registers,
        at_ns=5,
        half_width_ns=1,
    )


def judged(sheet: Sheet, registers: Registers, *roles: str) -> tuple[PointSeen, ...]:
    """These points compared with the truth."""
    wanted = roles or tuple(WIDE)
    return judge_values(sheet, [compared(sheet, registers, role) for role in wanted], OTHERS)


def test_a_right_map_is_proved_point_by_point() -> None:
    """Each with the registers, who read the reference, and when."""
    points = judged(SHEET, registers_of(SHEET))
    assert [point.finding for point in points] == [Finding.RIGHT] * 3
    first = points[0]
    assert (first.forced, first.seen) == (
        "Supply voltage: 24.37 V read by Juno Demoval",
        "24.37 V; registers F5C3 41C2",
    )
    assert (first.at_ns, first.half_width_ns) == (5, 1)


def test_swapped_words_are_named_with_the_line_for_the_sheet() -> None:
    """The point says what it fits, the map says it once for all, and nothing is changed by itself."""
    laptop = msgspec.structs.replace(SHEET, link=msgspec.structs.replace(SHEET.link, order="ABCD"))
    points = judged(laptop, registers_of(SHEET))
    assert [point.finding for point in points[:3]] == [Finding.WRONG_MAP, Finding.WRONG_MAP, Finding.RIGHT]
    assert points[0].words == "It fits if the word order is CDAB (words swapped)."
    assert points[-1].forced == "The map as a whole"
    assert points[-1].correction == ('link: order = "CDAB" (the sheet says ABCD)',)
    assert "Nothing is changed by itself" in points[-1].words


@pytest.mark.parametrize("shift", [-1, 1])
def test_a_list_that_counts_from_the_other_of_0_and_1_is_named(shift: int) -> None:
    """In the words of somebody who has to look for it; where no base explains it, every address is named."""
    points = tuple(
        msgspec.structs.replace(point, address=point.address - shift if point.address > 9 else point.address)
        for point in SHEET.points
    )
    laptop = msgspec.structs.replace(SHEET, points=points)
    seen = judged(laptop, registers_of(SHEET))
    words = "the addresses are one higher: the list counts from 0" if shift > 0 else "one lower: the list counts from 1"
    assert words in seen[-1].seen
    line = "link: counts_from = 1 (the sheet says 0)" if shift < 0 else "points: every address + 1"
    assert seen[-1].correction == (line,)


def test_a_scale_and_a_sign_of_one_point_are_named_as_such() -> None:
    """Kilopascal for bar is a scale; a register that falls while the gauge rises has its sign turned round."""
    for factor, words in ((100.0, "the scale is off by 0.01"), (-1.0, "the sign is turned round")):
        points = tuple(
            msgspec.structs.replace(point, scale=factor) if point.role == "pipeline_pressure" else point
            for point in SHEET.points
        )
        laptop = msgspec.structs.replace(SHEET, points=points)
        seen = judged(laptop, registers_of(SHEET))
        assert f"pipeline pressure: {words}" in seen[1].words
        assert seen[-1].correction[0].startswith("pipeline_pressure: scale = ")


@pytest.mark.parametrize("volts", [0.0, 24.5, 24.0])
def test_round_values_prove_nothing_whatever_they_agree_with(volts: float) -> None:
    """Half of the pattern is zero: with words swapped it reads 0.00 and nobody knows."""
    registers = registers_of(SHEET, {**TRUTH, "supply_voltage": volts})
    (point,) = judge_values(SHEET, [compared(SHEET, registers, "supply_voltage", volts)], ())
    assert point.finding is Finding.PROVES_NOTHING
    assert "a round value proves no map" in point.words


def test_a_value_that_another_reading_gives_too_proves_nothing() -> None:
    """Its neighbour happens to read the same."""
    registers = registers_of(SHEET, {**TRUTH, "motor_current": 1.97})
    (point,) = judge_values(SHEET, [compared(SHEET, registers, "oil_temperature")], ())
    assert point.finding is Finding.PROVES_NOTHING
    assert "so does the neighbouring register" in point.words


def test_a_transmitter_that_is_out_is_no_matter_of_the_map() -> None:
    """No reading agrees: look at the instrument and the terminal; no line is offered."""
    registers = registers_of(SHEET, {**TRUTH, "pipeline_pressure": 49.1e5})
    points = judged(SHEET, registers)
    assert [point.finding for point in points] == [Finding.RIGHT, Finding.DIFFERS, Finding.RIGHT]
    assert "look at the transmitter" in points[1].words
    assert not any(point.correction for point in points)


def test_a_point_without_a_reference_that_cannot_be_is_said() -> None:
    """Travel of 400 %: outside what the sheet makes possible, and no other reading of the map helps it."""
    registers = registers_of(SHEET, {**TRUTH, "travel": 4.0})
    points = judged(SHEET, registers)
    assert points[-1].forced == "Travel: possible by the sheet -5 % to 105 %"
    assert (points[-1].finding, points[-1].seen) == (Finding.DIFFERS, "400 %")
    assert points[-1].words == "Compare it with a gauge or a meter."


def test_a_register_that_the_unit_has_not_got_is_said() -> None:
    """Nothing was read there."""
    registers = registers_of(SHEET, {role: value for role, value in TRUTH.items() if role != "pipeline_pressure"})
    (point,) = judge_values(SHEET, [compared(SHEET, registers, "pipeline_pressure")], ())
    assert (point.finding, point.seen) == (Finding.NONE, "no number")
    assert "no such register" in point.words


@pytest.mark.parametrize("seed", range(0, 50, 7))
def test_each_shuffled_map_ends_in_lines_for_the_sheet(seed: int) -> None:
    """One line for each thing that was shuffled."""
    case = shuffled(seed)
    points = judged(case.sheet, registers_of(case.unit))
    assert points[-1].forced == "The map as a whole"
    assert len(points[-1].correction) == len(case.wrong)


def test_small_words() -> None:
    """Values in the list's own unit; the registers of a point; the numbers that may be held against the sheet."""
    assert (shown(SHEET, "travel", 0.473), shown(SHEET, "supply_voltage", 24.371)) == ("47.3 %", "24.37 V")
    assert len(words_of(SHEET, compared(SHEET, registers_of(SHEET), "travel"))) == 2
    assert set(measured_roles(SHEET)) == {*WIDE, *OTHERS}
