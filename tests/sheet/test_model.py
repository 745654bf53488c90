"""Tests of the sheet as a value: looking up points, wire addresses, fields with rules of their own."""

import pytest

from commission.sheet.model import End, StrokeLimits
from tests.sheet.xv import changed, problems_of, xv_1101


def test_points_are_found_by_role() -> None:
    """A role gives its point; a role that the unit has not gives None."""
    sheet = xv_1101()
    travel = sheet.point("travel")
    assert travel is not None
    assert (travel.address, travel.type) == (10, "f32")
    assert sheet.point("set_point") is None
    assert sheet.has("travel", "open_limit")
    assert not sheet.has("travel", "set_point")
    assert sheet.has()


def test_the_wire_counts_from_0_whatever_the_list_does() -> None:
    """Register number 108 of a list from 1 is address 006Bh on the wire (Application Protocol V1.1b3, 4.4, 6.3; R)."""
    from_1 = changed(
        ("counts_from = 0", "counts_from = 1"),
        ('role = "identity"\ntable = "input"\naddress = 0', 'role = "identity"\ntable = "input"\naddress = 108'),
        (
            'role = "open_limit"\ntable = "discrete"\naddress = 0',
            'role = "open_limit"\ntable = "discrete"\naddress = 9',
        ),
        ('role = "command_open"\ntable = "coil"\naddress = 0', 'role = "command_open"\ntable = "coil"\naddress = 9'),
    )
    identity = from_1.point("identity")
    assert identity is not None
    assert from_1.wire_address(identity) == 0x6B
    from_0 = xv_1101().point("travel")
    assert from_0 is not None
    assert xv_1101().wire_address(from_0) == 10


def test_a_unit_without_a_fail_position_can_be_written() -> None:
    """A double-acting unit has none: the field is left out (safety rule R1)."""
    sheet = changed(
        ('action = "spring-return"\nfail_position = "closed"', 'action = "double-acting"'),
    )
    assert sheet.actuator.fail_position is None
    assert xv_1101().actuator.fail_position is End.CLOSED


@pytest.mark.parametrize(("shortest", "expected", "longest"), [(9.0, 8.0, 10.0), (6.0, 11.0, 10.0), (6.0, 8.0, 7.0)])
def test_a_stroke_is_expected_within_its_own_limits(shortest: float, expected: float, longest: float) -> None:
    """Limits that exclude what is expected are a contradiction."""
    with pytest.raises(ValueError, match="shortest_s ≤ expected_s ≤ longest_s"):
        StrokeLimits(expected_s=expected, shortest_s=shortest, longest_s=longest)


@pytest.mark.parametrize(
    ("old", "new", "found"),
    [
        ("unit_id = 11", "unit_id = 0", "found 0, expected a whole number at least 1 and at most 247"),
        ("unit_id = 11", "unit_id = 248", "found 248, expected a whole number at least 1 and at most 247"),
        ("bore_mm = 125.0", "bore_mm = 0", "found 0, expected a number above 0"),
        ("bore_mm = 125.0", "bore_mm = nan", "found nan, expected a number above 0"),
        ("bore_mm = 125.0", "bore_mm = inf", "found inf, expected a finite number"),
        ("pressure_opens = true", "pressure_opens = 1", "found 1, expected true or false"),
        ("baud = 19200", "baud = 19201", "found 19201, expected one of 1200, 2400"),
        ("counts_from = 0", "counts_from = false", "found false, expected one of 0, 1"),
        ('order = "CDAB"', 'order = "CDBA"', "found 'CDBA', expected one of ABCD, CDAB, BADC, DCBA; did you mean"),
        ('fail_effect = "shuts in"', 'fail_effect = "shut in"', "did you mean 'shuts in'?"),
        ('"40" = 14.0', '"40" = "14"', "viscosity_at_c '40': found '14', expected a number"),
    ],
)  # fmt: skip
def test_each_field_says_what_it_takes(old: str, new: str, found: str) -> None:
    """Unit 0, zero bores, NaN, infinities, numbers for truth and truth for numbers are refused where they stand."""
    (problem,) = problems_of((old, new))
    assert problem.startswith("xv.toml: ")
    assert found in problem
