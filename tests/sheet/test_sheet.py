"""Tests of reading whole sheets."""

from pathlib import Path

import pytest

from commission.content import ContentError, Text, checklists_folder
from commission.sheet import load_sheet, parse_sheet
from tests.sheet.xv import PATH, changed_text, xv_text

SHEETS = sorted((checklists_folder() / "units").glob("*.toml"))


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.stem)
def test_every_shipped_sheet_is_sound(path: Path) -> None:
    """The sheets in the package load without a problem and keep the text they came from."""
    sheet, text = load_sheet(path)
    assert sheet.identity.tag.lower() == path.stem
    assert text == Text(path.name, path.read_text(encoding="utf-8"))


def test_mistakes_of_all_kinds_are_told_in_one_go() -> None:
    """Unknown fields, wrong values and missing ones in one sheet are reported together, each with its place."""
    text = changed_text(
        ("bore_mm = 125.0", "bor_mm = 125.0"),
        ('order = "CDAB"', 'order = "CDBA"'),
        ('role = "open_limit"\ntable = "discrete"', 'role = "open_limit"\ntable = "discreet"'),
    )
    with pytest.raises(ContentError) as refused:
        parse_sheet(Text("xv.toml", text))
    assert [str(problem) for problem in refused.value.problems] == [
        "xv.toml: actuator: bor_mm: found an unknown field, expected a known field; did you mean 'bore_mm'?",
        "xv.toml: actuator: bore_mm: found nothing, expected a number above 0",
        "xv.toml: link: order: found 'CDBA', expected one of ABCD, CDAB, BADC, DCBA; did you mean 'DCBA'?",
        (
            "xv.toml: point 'open_limit': table: found 'discreet', expected one of coil, discrete, input, holding;"
            " did you mean 'discrete'?"
        ),
    ]


def test_an_empty_sheet_names_every_part_it_needs() -> None:
    """Nothing is assumed: each part that has no default is asked for."""
    with pytest.raises(ContentError) as refused:
        parse_sheet(Text("empty.toml", ""))
    missing = {problem.field for problem in refused.value.problems}
    assert missing >= {"format", "identity", "valve", "actuator", "pump", "strokes", "behaviour", "points", "link"}


@pytest.mark.parametrize("at", range(0, 4000, 307))
def test_a_sheet_cut_short_before_its_points_is_refused(at: int) -> None:
    """A file that was cut, as by a stick pulled out too early, gives problems and no sheet without points."""
    text = xv_text()
    assert at < text.index("[[points]]")
    with pytest.raises(ContentError):
        parse_sheet(Text(PATH.name, text[:at]))
