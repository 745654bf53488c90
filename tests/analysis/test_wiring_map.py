"""Which reading of the registers makes sense, where the sheet's does not."""

import math
import random
import struct

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.wiring_map import (
    ORDERS,
    Deviation,
    Reference,
    alternatives,
    explain,
    is_mute,
    is_round,
    mistaken_for,
    possible,
    read_as,
)
from commission.sheet import Point, Sheet
from commission.sheet.decode import number_from_words
from tests.shuffled import TRUTH, registers_of, shuffled
from tests.supervise.rig import demo_sheet

SHEET = demo_sheet()
SUPPLY = Reference(role="supply_voltage", value=24.37, uncertainty=0.02)
PIPELINE = Reference(role="pipeline_pressure", value=61.8e5, uncertainty=0.1e5)
OIL = Reference(role="oil_temperature", value=19.5, uncertainty=0.5)
RANGED = ("travel", "cylinder_pressure", "motor_current", "fluid_level", "feedback_current")


def point_of(role: str) -> Point:
    """A point of the sheet."""
    point = SHEET.point(role)
    assert point is not None
    return point


@pytest.mark.parametrize("seed", range(50))
def test_the_cause_of_each_shuffled_map_is_named(seed: int) -> None:
    """Word order, base and scale, one to three of them at once: exactly what was shuffled, and no rival to it."""
    case = shuffled(seed)
    word = registers_of(case.unit).word
    found = explain(case.sheet, [(told, word) for told in (SUPPLY, PIPELINE, OIL)], word, RANGED)
    assert not found.rivals, found
    assert _meaning(frozenset(found.deviations)) == _meaning(case.wrong)


def _meaning(deviations: frozenset[Deviation]) -> frozenset[tuple[str, str, str]]:
    """A scale as a number of six digits: 0.1 times 10 is 1."""
    return frozenset(
        (known.role, known.field, f"{known.value:.6g}" if isinstance(known.value, float) else str(known.value))
        for known in deviations
    )


def test_a_right_map_needs_no_explanation() -> None:
    """Whatever the values are, as long as they agree."""
    word = registers_of(SHEET).word
    found = explain(SHEET, [(told, word) for told in (SUPPLY, PIPELINE, OIL)], word, RANGED)
    assert (found.deviations, found.left, found.rivals) == ((), (), ())


@pytest.mark.parametrize(
    ("unit_says", "sheet_says", "named"),
    [
        ({"unit": "psi"}, {"unit": "bar"}, Deviation("pipeline_pressure", "unit", "psi")),
        ({"unit": "kPa"}, {"unit": "bar"}, Deviation("pipeline_pressure", "scale", 0.01)),
        ({"scale": -1.0}, {"scale": 1.0}, Deviation("pipeline_pressure", "scale", -1.0)),
        (
            {"type": "u32", "scale": 0.001},
            {"type": "f32", "scale": 0.001},
            Deviation("pipeline_pressure", "type", "u32"),
        ),
        ({"order": "ABCD"}, {}, Deviation("pipeline_pressure", "order", "ABCD")),
    ],
)
def test_one_point_by_itself(unit_says: dict[str, object], sheet_says: dict[str, object], named: Deviation) -> None:
    """Psi for bar, kPa for bar (a scale like any), sign, type, and an order of its own."""
    unit = _with(SHEET, "pipeline_pressure", **unit_says)
    sheet = _with(SHEET, "pipeline_pressure", **sheet_says)
    word = registers_of(unit).word
    found = explain(sheet, [(told, word) for told in (SUPPLY, PIPELINE)], word, RANGED)
    assert named in (*found.deviations, *(other for rival in found.rivals for other in rival)), found
    assert len(found.deviations) == 1


def _with(sheet: Sheet, role: str, **fields: object) -> Sheet:
    points = tuple(msgspec.structs.replace(known, **fields) if known.role == role else known for known in sheet.points)
    return msgspec.structs.replace(sheet, points=points)


def test_a_neighbour_of_one_point_is_named_as_its_address() -> None:
    """One row of the sheet off by one, the rest right."""
    sheet = _with(SHEET, "oil_temperature", address=17)
    word = registers_of(SHEET).word
    found = explain(sheet, [(told, word) for told in (SUPPLY, PIPELINE, OIL)], word, RANGED)
    assert found.deviations == (Deviation("oil_temperature", "address", 16),)


def test_what_nothing_explains_is_left_and_not_bent() -> None:
    """A transmitter that is 20 % out is no matter of the map."""
    word = registers_of(SHEET, {**TRUTH, "pipeline_pressure": 49.1e5}).word
    found = explain(SHEET, [(told, word) for told in (SUPPLY, PIPELINE, OIL)], word, RANGED)
    assert (found.deviations, found.left) == ((), ("pipeline_pressure",))


def test_two_explanations_as_short_are_both_named() -> None:
    """One 16-bit value alone cannot tell a scale from a neighbour that happens to fit."""
    values = {**TRUTH, "oil_temperature": 195.0, "motor_current": 1.95}
    word = registers_of(SHEET, values).word
    found = explain(SHEET, [(OIL, word)], word, ())
    assert found.rivals


@pytest.mark.parametrize("value", [0.0, 50.0, 62.5, 100.0, -3.25, 24.5])
def test_round_values_tell_no_orders_apart(value: float) -> None:
    """Half of the pattern is zero: with words swapped they read 0.00 (trade guide I3; IEEE 754 by struct)."""
    words = struct.unpack(">2H", struct.pack(">f", value))
    assert is_round(point_of("supply_voltage"), words)
    swapped = number_from_words(words, "f32", "CDAB")
    assert abs(swapped) < 1e-30


@pytest.mark.parametrize("value", [24.37, 61.83, 87.3, 12.34])
def test_others_do(value: float) -> None:
    """Each order gives another number, none near it."""
    words = struct.unpack(">2H", struct.pack(">f", value))
    assert not is_round(point_of("supply_voltage"), words)
    for order in ORDERS[1:]:
        other = number_from_words(words, "f32", order)
        assert not math.isfinite(other) or abs(other - value) > 0.02 * value


def test_mute_is_what_fits_best_by_a_round_pattern_or_is_zero() -> None:
    """Also where the sheet's own reading does not fit: 24.5 in swapped words is no evidence for swapped words."""
    point = point_of("supply_voltage")
    for sheet in (SHEET, msgspec.structs.replace(SHEET, link=msgspec.structs.replace(SHEET.link, order="ABCD"))):
        for volts, mute in ((24.5, True), (24.37, False)):
            told = Reference(role="supply_voltage", value=volts, uncertainty=0.02)
            word = registers_of(SHEET, {**TRUTH, "supply_voltage": volts}).word
            assert is_mute(sheet, point, word, told) is mute
    nothing = Reference(role="pipeline_pressure", value=0.0, uncertainty=1e4)
    assert is_mute(SHEET, point_of("pipeline_pressure"), registers_of(SHEET).word, nothing)


def test_a_dead_register_and_two_equal_words_are_round() -> None:
    """A 0 agrees with everything that is not connected; equal words read the same swapped."""
    assert is_round(point_of("oil_temperature"), (0,))
    assert not is_round(point_of("oil_temperature"), (197,))
    assert is_round(point_of("supply_voltage"), (0x41C2, 0x41C2))


def test_a_value_that_its_neighbour_gives_as_well_is_mistakable() -> None:
    """16-bit registers side by side that hold the same."""
    values = {**TRUTH, "motor_current": 1.97}
    word = registers_of(SHEET, values).word
    oil, supply = point_of("oil_temperature"), point_of("supply_voltage")
    assert mistaken_for(SHEET, oil, alternatives(SHEET, oil, word, OIL)) == "the neighbouring register"
    assert alternatives(SHEET, supply, word, SUPPLY) == frozenset()
    assert mistaken_for(SHEET, supply, frozenset({(0, "DCBA")})) == "the order DCBA"
    assert mistaken_for(SHEET, supply, frozenset({(1, "ABCD")})) == "", "two things wrong at once are no single mistake"


def test_another_order_one_address_further_shares_the_leading_word_and_is_caught() -> None:
    """24.25 for 24.37: within the 1 % that is permitted, and yet read wrongly; the right reading comes much nearer."""
    aliased = _with(SHEET, "supply_voltage", address=15, order="ABCD")
    word = registers_of(SHEET).word
    point = aliased.point("supply_voltage")
    assert point is not None
    value = read_as(aliased, point, word)
    assert value is not None
    assert 0.05 < abs(value - 24.37) < SUPPLY.permitted
    assert alternatives(aliased, point, word, SUPPLY) == frozenset({(-1, "CDAB")})


def test_what_was_not_read_is_no_value() -> None:
    """Nor is a pattern that is no number."""
    assert read_as(SHEET, point_of("supply_voltage"), lambda _table, _address: None) is None
    assert read_as(SHEET, point_of("supply_voltage"), lambda _table, _address: 0x7FFF) is None


def test_the_sheet_says_what_is_possible_and_is_silent_of_the_rest() -> None:
    """Travel a little beyond its ends, pressure to a tenth above relief, supply by half; counters may be anything."""
    assert possible(SHEET, "travel") == (-0.05, 1.05)
    assert [round(limit) for limit in possible(SHEET, "cylinder_pressure") or ()] == [-100_000, 15_400_000]
    assert possible(SHEET, "supply_voltage") == (12.0, 36.0)
    assert [round(limit) for limit in possible(SHEET, "pipeline_pressure") or ()] == [-100_000, 10_500_000]
    assert possible(SHEET, "run_time_total") is None
    assert possible(msgspec.structs.replace(SHEET, monitor=None), "pipeline_pressure") is None


@given(st.integers(0, 2**32 - 1))
def test_the_sheets_own_map_wins_wherever_it_agrees(seed: int) -> None:
    """No explanation is offered for a map under which every value agrees, whatever its neighbours hold."""
    draw = random.Random(seed)
    supply, bar = draw.uniform(13, 35), draw.uniform(1, 99)
    word = registers_of(SHEET, {**TRUTH, "supply_voltage": supply, "pipeline_pressure": bar * 1e5}).word
    told = [
        (Reference(role="supply_voltage", value=supply, uncertainty=0.02), word),
        (Reference(role="pipeline_pressure", value=bar * 1e5, uncertainty=1e4), word),
    ]
    assert explain(SHEET, told, word, RANGED).deviations == ()
