"""What a wiring proof says, point by point and in all."""

from commission.analysis.wiring import Finding, PointSeen, WiringSeen, line_for, name_of_role, place_words, word_of
from tests.supervise.rig import demo_sheet

SHEET = demo_sheet()


def seen(finding: Finding, *, again: bool = False, words: str = "", correction: tuple[str, ...] = ()) -> PointSeen:
    """A point."""
    return PointSeen(
        role="low_fluid", forced="Lift it", seen="", finding=finding, words=words, correction=correction, again=again
    )


def test_proved_only_where_everything_that_stands_is_right() -> None:
    """What was forced again does not stand, what proves nothing is no proof, and nothing forced is none either."""
    right, wrong = seen(Finding.RIGHT), seen(Finding.NONE, again=True)
    assert WiringSeen(points=(wrong, right)).proved
    assert WiringSeen(points=(wrong, right)).words == "1 of 1 as they should be, 1 only when forced again"
    assert not WiringSeen(points=()).proved
    for finding in Finding:
        assert WiringSeen(points=(right, seen(finding))).proved is (finding is Finding.RIGHT)


def test_words_name_what_is_wrong_and_the_lines_for_the_sheet_once() -> None:
    """Each with what was forced; a line that several points ask for is said once."""
    line = ("link: order = CDAB (the sheet says ABCD)",)
    one = seen(Finding.INVERTED, words="1 means low.", correction=line)
    words = WiringSeen(points=(one, one)).words
    assert words.startswith("Lift it: wrong sense. 1 means low. | Lift it")
    assert words.count(line[0]) == 1


def test_points_are_called_by_the_trades_words_and_their_place() -> None:
    """As the sheet's own list counts, and with what it says now."""
    point = SHEET.point("alarm_fluid")
    assert point is not None
    assert (place_words(point), name_of_role("low_fluid")) == ("input 26 bit 3", "fluid")
    assert word_of("low_fluid", true=True) == "fluid low"
    assert line_for(SHEET, "travel", "order", "ABCD") == 'travel: order = "ABCD" (the sheet says CDAB)'
    assert line_for(SHEET, "travel", "scale", 0.1) == "travel: scale = 0.1 (the sheet says 1.0)"
    assert line_for(SHEET, "travel", "address", 11) == "travel: address = 11 (the sheet says 10)"
