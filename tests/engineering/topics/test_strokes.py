"""Tests of strokes as they are told."""

import pytest

from commission.engineering.topics.strokes import run_to_cut_out_s, strokes
from commission.sheet.model import End
from tests.engineering.units import changed_unit, mover_of, unit_of


def test_computed_stands_beside_the_sheets_own() -> None:
    """Within a tenth it agrees; a needle at a quarter of its area does not."""
    closing = strokes(unit_of("xv-1101")).find("stroke.closing.time")
    assert closing is not None
    assert closing.text == "8.00 s"
    assert closing.note.startswith("agrees with the sheet's 8 s")
    slow = strokes(changed_unit("xv-1101", "orifices", spring_stroke_mm2=1.36)).find("stroke.closing.time")
    assert slow is not None
    assert slow.note.startswith("DIFFERS")


def test_the_slowest_legitimate_stroke_stands_beside_its_limit() -> None:
    """Within 12 s with the pipe as it is; a thinner pipe behind the orifice breaks the limit in the cold."""
    slowest = strokes(unit_of("xv-1101")).find("stroke.closing.slowest")
    assert slowest is not None
    assert slowest.note == "limit 12 s"
    thin = strokes(changed_unit("xv-1101", "orifices", return_line_mm=8.0)).find("stroke.closing.slowest")
    assert thin is not None
    assert thin.note == "ABOVE the limit 12 s"


def test_partial_and_emergency_strokes() -> None:
    """Only where the unit has them."""
    assert strokes(unit_of("xv-1101")).find("partial.out") is not None
    assert strokes(unit_of("xv-1101")).find("emergency.margin") is None
    emergency = strokes(unit_of("fcv-2204")).find("emergency.margin")
    assert emergency is not None
    assert (emergency.text, emergency.note) == ("1.25", "required 1.2")


def test_what_is_lacking() -> None:
    """The way out of the spring stroke and of the partial one."""
    poor = strokes(changed_unit("xv-1101", "orifices", spring_stroke_mm2=None, partial_stroke_mm2=None))
    assert [lack.field for lack in poor.lacks] == ["orifices.spring_stroke_mm2", "orifices.partial_stroke_mm2"]


def test_run_to_cut_out() -> None:
    """Longer than the stroke; none for a stroke by flow control."""
    run = run_to_cut_out_s(unit_of("xv-1101"), End.OPEN)
    assert run is not None
    assert run == pytest.approx(151.9, abs=0.2)
    assert run_to_cut_out_s(unit_of("fcv-2204"), End.OPEN) is None
    assert run > (mover_of("xv-1101").to_travel_s(End.OPEN, 1.0) or 0.0)
