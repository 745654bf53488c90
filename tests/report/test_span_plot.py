"""The plot of a loop's errors: limits, curves told apart without colour, names that do not lie over one another."""

import re
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.report.span_plot import ErrorCurve, error_plot

NAMESPACE = "{http://www.w3.org/2000/svg}"
UP = ErrorCurve(
    "as found, up", ((0.0, 0.375), (25.0, 0.125), (50.0, -0.3125), (75.0, -0.875), (100.0, -1.5)), True, False
)
DOWN = ErrorCurve("as left, down", ((0.0, 0.0), (50.0, 0.1), (100.0, -0.1)), False, True)


def _drawn(svg: str) -> ET.Element:
    return ET.fromstring(svg)  # noqa: S314  # our own drawing


def _words(svg: str) -> list[str]:
    return [text.text or "" for text in _drawn(svg).iter(f"{NAMESPACE}text")]


def test_each_curve_has_its_name_and_its_mark() -> None:
    """Round going up, square going down; the latest solid, the earlier dotted."""
    svg = error_plot([UP, DOWN], 1.0)
    words = _words(svg)
    assert any(text.endswith("as found, up") for text in words)
    assert any(text.endswith("as left, down") for text in words)
    assert len(list(_drawn(svg).iter(f"{NAMESPACE}circle"))) == 5
    paths = list(_drawn(svg).iter(f"{NAMESPACE}path"))
    assert [bool(path.get("stroke-dasharray")) for path in paths] == [True, False]


def test_the_limits_are_drawn_and_named() -> None:
    """Dashed, on both sides; none where there is none."""
    assert "limit ±0.5 %" in _words(error_plot([UP], 0.5))
    assert not [text for text in _words(error_plot([UP], None)) if "limit" in text]


def test_no_colour_says_anything() -> None:
    """Black, white and grey."""
    colours = set(re.findall(r"#[0-9a-f]{3,6}", error_plot([UP, DOWN], 1.0)))
    assert colours <= {"#000", "#fff", "#777"}


def test_names_at_one_place_are_moved_apart() -> None:
    """Two curves that end together."""
    same = [ErrorCurve(f"run {number}", ((0.0, 0.0), (100.0, 0.2)), number % 2 == 0, True) for number in range(4)]
    places = [
        float(text.get("y") or 0)
        for text in _drawn(error_plot(same, 1.0)).iter(f"{NAMESPACE}text")
        if "run" in (text.text or "")
    ]
    assert all(after - before >= 8 for before, after in zip(sorted(places), sorted(places)[1:], strict=False))


@given(
    st.lists(st.tuples(st.floats(0, 100), st.floats(-40, 40)), min_size=1, max_size=12),
    st.one_of(st.none(), st.floats(0.1, 5)),
)
def test_everything_lies_within_the_frame(places: list[tuple[float, float]], limit: float | None) -> None:
    """Whatever the errors are."""
    svg = error_plot([ErrorCurve("up", tuple(places), True, True)], limit)
    for circle in _drawn(svg).iter(f"{NAMESPACE}circle"):
        assert 26 <= float(circle.get("cx") or 0) <= 176
        assert 12 <= float(circle.get("cy") or 0) <= 108


@pytest.mark.parametrize("name", ["a < b & c", '"quoted"'])
def test_a_name_is_text_and_no_markup(name: str) -> None:
    """Nothing of a tag gets into the drawing."""
    assert any(text.endswith(name) for text in _words(error_plot([ErrorCurve(name, ((0.0, 0.0),), True, True)], 1.0)))
