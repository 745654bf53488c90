"""What the control room reads of a loop, and what a wrong value points to."""

import pytest

from commission.analysis.room_value import LoopPoint, RoomValue, room_value, what_differs
from commission.sheet.model import Loop

LOOP = Loop()


def at(said: str, current_ma: float) -> LoopPoint:
    """What was read aloud while the loop carried so much."""
    room = room_value(said)
    assert room is not None
    return LoopPoint(room, current_ma / 1e3)


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("24.9 %", RoomValue(24.9, "%", 0.1)),
        ("25%", RoomValue(25.0, "%", 1.0)),
        ("7,98 mA", RoomValue(7.98, "mA", 0.01)),
        ("-0.2 %", RoomValue(-0.2, "%", 0.1)),
        ("as the meter", None),
        ("24.9", None),
        ("24.9 % open", None),
    ],
)
def test_a_value_is_a_number_with_its_unit(said: str, value: RoomValue | None) -> None:
    """Anything else is asked again."""
    assert room_value(said) == value


@pytest.mark.parametrize(("said", "current_ma"), [("25.0 %", 8.0), ("25 %", 8.2), ("8.0 mA", 8.0), ("0.4 %", 4.0)])
def test_what_agrees_says_nothing(said: str, current_ma: float) -> None:
    """Within the loop's limit, and half of the last place that was read."""
    assert what_differs(LOOP, at(said, current_ma), None, 0.001) == ""


@pytest.mark.parametrize(
    ("said", "current_ma", "before", "cause"),
    [
        ("75.0 %", 8.0, None, "their range is turned round"),
        ("16.0 mA", 8.0, None, "their range is turned round"),
        ("40.0 %", 8.0, None, "their input is ranged 0 to 20 mA"),
        ("0.0 %", 20.0, ("0.0 %", 4.0), "the same as at the point before"),
        ("31.0 %", 8.0, None, "look at their range"),
        ("9.0 mA", 8.0, None, "look at their range"),
    ],
)
def test_the_usual_mistakes_are_named(
    said: str, current_ma: float, before: tuple[str, float] | None, cause: str
) -> None:
    """Turned round, ranged from 0 mA, standing still; else where to look."""
    words = what_differs(LOOP, at(said, current_ma), None if before is None else at(*before), 0.001)
    assert cause in words
    assert f"the loop carries {current_ma:.2f} mA" in words


def test_two_points_close_to_each_other_may_read_alike() -> None:
    """A coarse display is not frozen."""
    assert "look at their range" in what_differs(LOOP, at("9 %", 4.8), at("9 %", 4.5), 0.001)
    assert what_differs(LOOP, at("5 %", 4.8), at("5 %", 4.7), 0.001) == ""


def test_a_reversed_loop_is_held_against_its_own_ends() -> None:
    """20 mA at closed: 16 mA is a quarter open."""
    turned = Loop(closed_ma=20.0, open_ma=4.0)
    assert what_differs(turned, at("25 %", 16.0), None, 0.001) == ""
    assert "turned round" in what_differs(turned, at("75 %", 16.0), None, 0.001)
