"""Pressures, current and travel of a stroke."""

import msgspec
import pytest

from commission.analysis.extremes import level_figures
from commission.analysis.moments import moments
from commission.figure import Figure
from commission.sheet.decode import Reading, Readings
from tests.analysis.seen import SHEET, observe
from tests.procedures.strokes import Line, Stroke


def found(stroke: Stroke, line: Line, seed: int = 1) -> dict[str, Figure]:
    """The figures by name."""
    observed = observe(stroke, line, seed)
    return {figure.name: figure for figure in level_figures(observed, SHEET, moments(observed, SHEET))}


def test_closing_pressure_at_start_and_end_of_motion() -> None:
    """53 bar when motion starts, 25 bar when it ends, each within its uncertainty."""
    figures = found(Stroke(opening=False), Line())
    for name, true_pa in (("pressure_at_start", 53e5), ("pressure_at_end", 25e5)):
        figure = figures[name]
        assert abs(figure.unrounded - true_pa) <= float(figure.expanded_uncertainty), name
        assert "transmitter" in figure.note


def test_the_largest_is_a_reading_and_says_what_it_may_miss() -> None:
    """Largest pressure and current are readings; a peak between samples is named."""
    figures = found(Stroke(), Line())
    assert figures["current_max"].unrounded == 20.0
    assert figures["pressure_max"].unrounded == 53e5
    assert "between two samples" in figures["pressure_max"].note


def test_a_motor_that_starts_is_not_noise() -> None:
    """The step of a starting motor does not widen the largest current."""
    assert float(found(Stroke(), Line())["current_max"].expanded_uncertainty) < 0.01


def test_a_register_of_whole_counts_carries_its_last_digit() -> None:
    """Current in counts of 0.01 A: U is 1.96 · 0.01 A/√12, rounded up (JCGM 100:2008, F.2.2.1)."""
    tail = found(Stroke(), Line())["current_max"]
    assert float(tail.expanded_uncertainty) >= 0.0056


def test_final_travel_is_the_mean_of_the_last_readings() -> None:
    """A closing stroke ends at 0, known better than one reading."""
    final = found(Stroke(opening=False), Line(noise=0.001))["final_travel"]
    assert final.unrounded == pytest.approx(0.0, abs=0.002)
    assert float(final.expanded_uncertainty) < 1.96 * 0.001


def test_what_was_not_read_has_no_figure() -> None:
    """Without pressure and current only travel remains."""
    observed = observe(Stroke(), Line(), 1)
    bare = tuple(
        Readings(item.number, item.at_ns, {"travel": Reading(0.5, item.at_ns, 0)})
        for item in observed.seen
        if isinstance(item, Readings)
    )
    observed = msgspec.structs.replace(observed, seen=bare)
    figures = level_figures(observed, SHEET, moments(observed, SHEET))
    assert [figure.name for figure in figures] == ["final_travel"]
