"""Tests of breakaway and running pressures."""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.extremes import level_figures
from commission.analysis.loads import NO_OWN_ERROR, as_lines, load_figures, pressure_at
from commission.analysis.moments import moments
from commission.figure import Figure
from commission.sheet import Sheet
from commission.sheet.decode import Reading
from tests.analysis.seen import SHEET, observe
from tests.analysis.tracks import ramp, track
from tests.procedures.strokes import Line, Stroke

BAR = 1e5


def found(stroke: Stroke, sheet: Sheet = SHEET) -> dict[str, Figure]:
    """The load figures of a stroke by name."""
    observed = observe(stroke, Line(), 1)
    levels = {figure.name: figure for figure in level_figures(observed, sheet, moments(observed, sheet))}
    return {figure.name: figure for figure in load_figures(observed, sheet, levels["pressure_at_start"])}


def test_a_closing_stroke_gives_breakaway_and_running_pressures() -> None:
    """53 bar at first motion, falling by 28 bar over the stroke; each within its uncertainty, transmitter included."""
    figures = found(Stroke(opening=False))
    truth_bar = {
        "breakaway_pressure": 53.0,
        "running_pressure_75_pct": 46.0,
        "running_pressure_50_pct": 39.0,
        "running_pressure_25_pct": 32.0,
    }
    assert set(figures) == set(truth_bar)
    for name, bar in truth_bar.items():
        figure = figures[name]
        assert abs(figure.unrounded - bar * BAR) <= float(figure.expanded_uncertainty), name
        assert float(figure.expanded_uncertainty) >= 0.95 * 0.8 * BAR
        assert figure.budget[-1].name.startswith("transmitter")


def test_without_a_transmitters_accuracy_the_figure_says_so() -> None:
    """Its uncertainty is then only what the readings show."""
    points = tuple(msgspec.structs.replace(point, transmitter=None) for point in SHEET.points)
    figure = found(Stroke(opening=False), msgspec.structs.replace(SHEET, points=points))["running_pressure_50_pct"]
    assert figure.note == NO_OWN_ERROR
    assert float(figure.expanded_uncertainty) < 0.5 * BAR


@pytest.mark.parametrize("opening", [True, False])
def test_places_count_from_closed_whichever_way_it_goes(opening: bool) -> None:  # noqa: FBT001  # both ways
    """At a quarter of travel the pressure is 20 + 40/4 bar, opening or closing."""
    way = ramp(2.0, 10.0)
    travel = track(way if opening else (lambda t: 1 - way(t)), 15.0)
    pressure = tuple(Reading((20 + 40 * r.value) * BAR, r.at_ns, r.half_width_ns) for r in travel)
    seen = pressure_at(0.25, pressure, travel, 0)
    assert seen is not None
    assert seen[0] == pytest.approx(30 * BAR, rel=1e-6)


@given(st.integers(-(10**15), 10**15))
def test_moving_the_clock_changes_nothing(shift_ns: int) -> None:
    """A stroke at another time of day is the same stroke."""
    travel = track(ramp(2.0, 10.0), 15.0, noise=0.0005)
    pressure = track(lambda t: (20 + 4 * t) * BAR, 15.0, noise=0.1 * BAR)
    later_pressure, later_travel = (
        tuple(Reading(r.value, r.at_ns + shift_ns, r.half_width_ns) for r in readings)
        for readings in (pressure, travel)
    )
    here, there = pressure_at(0.5, pressure, travel, 0), pressure_at(0.5, later_pressure, later_travel, 0)
    assert here is not None
    assert there is not None
    assert there[0] == pytest.approx(here[0], rel=1e-12)
    assert [line.width for line in there[1]] == pytest.approx([line.width for line in here[1]], rel=1e-9)


def test_a_place_that_was_not_passed_has_no_pressure() -> None:
    """A valve that stops at 40 % never shows its half; nor does a line too slow to see it."""
    part = track(lambda t: 0.4 * ramp(2.0, 10.0)(t), 15.0)
    pressure = track(lambda _t: 40 * BAR, 15.0)
    assert pressure_at(0.5, pressure, part, 0) is None
    sparse = track(ramp(2.0, 10.0), 15.0, period_s=3.0)
    assert pressure_at(0.5, pressure[::40], sparse, 0) is None


def test_without_pressure_or_travel_only_the_breakaway_remains() -> None:
    """And without that nothing."""
    observed = msgspec.structs.replace(observe(Stroke(), Line(), 1), seen=())
    assert load_figures(observed, SHEET, None) == ()


def test_stored_lines_come_back_as_own_error_and_the_rest() -> None:
    """What the record holds is enough to go on computing with."""
    figure = found(Stroke(opening=False))["running_pressure_50_pct"]
    lines = as_lines(figure)
    assert lines[-1].name.startswith("transmitter")
    assert lines[-1].width == pytest.approx(80_000)
    assert sum(line.contribution**2 for line in lines) == pytest.approx(
        sum(float(line.contribution) ** 2 for line in figure.budget), rel=1e-3
    )
