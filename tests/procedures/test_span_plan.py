"""What a span test will ask, from the sheet and the checklist's arguments alone."""

import msgspec
import pytest

from commission.procedures.span_plan import SpanPlan, outlook, span_longest_s, span_plan, why_not_held
from commission.sheet import End, Sheet
from tests.sheet.xv import xv_1101

METER = {"meter_accuracy": "0.2 % rdg + 2 counts", "meter_digit_ma": "0.01", "stem_step": "0.5"}


def _plan(**arguments: str) -> SpanPlan:
    return span_plan(xv_1101(), arguments)


def _sheet(closing_s: float = 8.0, opening_s: float = 146.5, **behaviour: object) -> Sheet:
    sheet = xv_1101()
    limits = sheet.strokes.closing
    closing = msgspec.structs.replace(limits, shortest_s=0.1, expected_s=closing_s, longest_s=1e3)
    opening = msgspec.structs.replace(limits, shortest_s=0.1, expected_s=opening_s, longest_s=1e3)
    return msgspec.structs.replace(
        sheet,
        strokes=msgspec.structs.replace(sheet.strokes, closing=closing, opening=opening),
        behaviour=msgspec.structs.replace(sheet.behaviour, **behaviour),
    )


def test_five_points_up_on_the_unit_with_a_fast_spring() -> None:
    """Opening can be held; closing cannot, and why stands in the sheet's own figure."""
    plan = _plan(moved_by="laptop")
    assert [leg.words for leg in plan.legs] == ["0 % up", "25 % up", "50 % up", "75 % up", "100 % up"]
    assert plan.away is End.OPEN
    assert plan.not_tested == (
        (
            "points on the way down not tested: closing takes 8 s by the sheet: a stop comes up to 9 % of travel"
            " too late, more than the 5 % that a point may be off"
        ),
    )
    assert str(plan.limits) == "-0.01 to 0.01"
    assert plan.ways == "0, 25, 50, 75, 100 % up"


def test_the_reason_follows_the_sheet() -> None:
    """A slow spring can be held; one that stop does not stop cannot, however slow."""
    assert why_not_held(_sheet(closing_s=30.0), End.CLOSED) == ""
    told = why_not_held(_sheet(closing_s=30.0, stop_stops_closing=False, stop_while_closing="runs on"), End.CLOSED)
    assert told == "stop does not stop closing (runs on)"
    assert "opening takes 5 s" in why_not_held(_sheet(opening_s=5.0), End.OPEN)


def test_up_and_down_where_people_move_a_unit_that_can_be_held() -> None:
    """The end points are read once where the way turns round; a second cycle begins where the first ended."""
    plan = span_plan(_sheet(closing_s=100.0), {"points": "0 50 100", "cycles": "2"})
    assert [leg.words for leg in plan.legs] == [
        "0 % up", "50 % up", "100 % up", "50 % down", "0 % down", "50 % up", "100 % up", "50 % down", "0 % down",
    ]  # fmt: skip
    assert plan.ways == "0, 50, 100 % up, 50, 0 % down, 50, 100 % up, 50, 0 % down"
    assert plan.not_tested == ()


def test_moved_from_here_the_way_back_is_another_direction() -> None:
    """Also where the unit could be held on it."""
    plan = span_plan(_sheet(closing_s=100.0), {"moved_by": "laptop"})
    assert "another direction" in plan.not_tested[0]
    assert all(leg.up for leg in plan.legs)


def test_a_unit_that_can_be_held_nowhere_is_refused() -> None:
    """With both reasons."""
    with pytest.raises(ValueError, match=r"cannot be held.*opening takes 5 s.*closing takes 8 s"):
        span_plan(_sheet(opening_s=5.0), {})


def test_the_longest_run_holds_every_point() -> None:
    """Five minutes a point, and the unit's own time-outs."""
    assert span_longest_s(xv_1101(), {"moved_by": "laptop"}) == 5 * 300 + 240 + 15
    assert span_longest_s(xv_1101(), {"moved_by": "laptop", "points": "0-50-100"}) == 3 * 300 + 240 + 15


def test_the_outlook_is_the_meters_doubt_against_the_limit() -> None:
    """A clamp of 0.5 % of full scale cannot decide half a percent; a calibrator can."""
    assert outlook(_plan()) is None
    good = outlook(_plan(**METER))
    assert good is not None
    assert good.can
    coarse = outlook(_plan(**{**METER, "meter_accuracy": "1 % FS"}))
    assert coarse is not None
    assert not coarse.can
    assert coarse.text.startswith("no: U 1.")
    assert "% of span against 1 % of span of room" in coarse.text


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ({"signal": "voltage"}, "feedback or command"),
        ({"moved_by": "ghosts"}, "laptop or people"),
        ({"points": "100 50"}, "rising"),
        ({"points": "0 x"}, "points in percent"),
        ({"points": "0 120"}, "0 to 100"),
        ({"points": "50"}, "at least two"),
        ({"cycles": "0"}, "1 to 10"),
        ({"cycles": "2", "moved_by": "laptop"}, "confirmed anew"),
        ({**METER, "meter_accuracy": "rather good"}, "meter's accuracy"),
        ({**METER, "stem_step": "0"}, "above zero"),
        ({**METER, "meter_digit_ma": "fine"}, "is a number"),
    ],
)
def test_an_argument_that_makes_no_sense_is_named(arguments: dict[str, str], words: str) -> None:
    """With what was expected."""
    with pytest.raises(ValueError, match=words):
        _plan(**arguments)
