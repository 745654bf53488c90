"""Figures of a partial stroke, of the real practice unit without a wire."""

import msgspec
import pytest

from commission.analysis.partial import Check, NoPartialStroke, PartialEnd, partial_figures
from commission.practice.condition import Condition
from commission.sheet import End
from commission.sheet.decode import Readings
from tests.analysis.partials import figures, observed
from tests.analysis.seen import SHEET

REFERENCE = {
    "time_to_target": (10.0, 0.25),
    "breakaway_pressure": (53.5e5, 0.3e5),
    "out_pressure_10_pct": (48.0e5, 0.6e5),
    "out_pressure_15_pct": (46.1e5, 1.0e5),
    "return_time": (27.0, 1.5),
    "turning_point": (0.150, 0.002),
    "final_travel": (0.0, 0.001),
}
"""Reference curve of the invented unit, computed apart from the program: value and how near its reading is."""


@pytest.mark.parametrize("name", REFERENCE)
def test_a_healthy_stroke_follows_the_reference_curve(name: str) -> None:
    """Time, pressures along travel, turning point and return."""
    value, near = REFERENCE[name]
    assert float(figures()[name].value) == pytest.approx(value, abs=near)


def test_dead_time_is_split_at_the_pressure() -> None:
    """Command to pressure and pressure to motion add up to command to motion."""
    found = figures()
    whole, first, second = (float(found[name].value) for name in ("dead_time", "pressure_dead_time", "breakaway_delay"))
    assert first + second == pytest.approx(whole, abs=0.002)
    assert whole == pytest.approx(1.28, abs=0.06)


def test_friction_is_told_from_the_spring() -> None:
    """A stiffer valve changes half the difference of the pressures, a weak spring half their sum (statics)."""
    healthy, sticky, weak = figures(), figures(Condition(friction_factor=1.45)), figures(Condition(spring_factor=0.9))

    def change(found: dict[str, msgspec.Struct], name: str) -> float:
        return float(found[name].value) / float(healthy[name].value)  # type: ignore[attr-defined]  # a figure

    assert change(sticky, "friction_pressure") == pytest.approx(1.45, abs=0.02)  # type: ignore[arg-type]  # as above
    assert change(sticky, "spring_pressure") == pytest.approx(1.0, abs=0.01)  # type: ignore[arg-type]  # as above
    assert change(weak, "spring_pressure") == pytest.approx(0.9, abs=0.01)  # type: ignore[arg-type]  # as above
    assert change(weak, "friction_pressure") == pytest.approx(1.0, abs=0.02)  # type: ignore[arg-type]  # as above


def test_a_needle_changes_time_and_no_pressure() -> None:
    """Thirty per cent less area: 43 % more time, the same breakaway."""
    healthy, needle = figures(), figures(Condition(orifice_factor=0.7))
    assert float(needle["time_to_target"].value) / float(healthy["time_to_target"].value) == pytest.approx(
        1.43, abs=0.03
    )
    assert float(needle["breakaway_pressure"].value) == pytest.approx(
        float(healthy["breakaway_pressure"].value), rel=0.01
    )


def test_a_valve_that_sticks_and_leaps_shows_in_its_breakaway_alone() -> None:
    """Pressure falls far below that of motion before it gives way; along the way nothing differs."""
    healthy, stuck = figures(), figures(Condition(breakaway_factor=3.5))
    assert float(stuck["breakaway_pressure"].value) < float(healthy["breakaway_pressure"].value) - 10e5
    assert "lowest reading" in stuck["breakaway_pressure"].note
    assert float(stuck["out_pressure_10_pct"].value) == pytest.approx(
        float(healthy["out_pressure_10_pct"].value), abs=0.2e5
    )


def test_every_pressure_says_what_its_uncertainty_leaves_out() -> None:
    """The transmitter's own error is in none of them."""
    found = figures()
    pressures = [figure for figure in found.values() if figure.unit == "Pa"]
    assert len(pressures) >= 7
    assert all("the transmitter's own error is not in it" in figure.note for figure in pressures)


@pytest.mark.parametrize("ended", [PartialEnd.NOT_READY, PartialEnd.REFUSED, PartialEnd.NO_MOTION])
def test_what_was_not_begun_has_no_figures(ended: PartialEnd) -> None:
    """No test is no test, with its reason."""
    stopped = msgspec.structs.replace(observed(), ended=ended, why="selector: local or off")
    with pytest.raises(NoPartialStroke, match="selector"):
        partial_figures(stopped, SHEET)


def test_a_valve_that_stood_still_has_none() -> None:
    """The readings before the command alone."""
    still = msgspec.structs.replace(observed(), seen=observed().seen[:50])
    with pytest.raises(NoPartialStroke, match="nothing moved"):
        partial_figures(still, SHEET)


def test_distance_is_counted_from_the_end_it_leaves() -> None:
    """Open for a valve that fails closed."""
    stroke = observed()
    assert stroke.start_end is End.OPEN
    assert max(reading.value for reading in stroke.away()) == pytest.approx(0.15, abs=0.002)


def test_a_check_says_what_was_seen() -> None:
    """And that it does not hold."""
    assert str(Check("oil", "62.0 °C", holds=False)) == "oil: 62.0 °C, NOT as it should be"
    assert str(Check("oil", "20.0 °C", holds=True)) == "oil: 20.0 °C"


@pytest.mark.parametrize("gap_s", [0.3, 0.6, 1.0])
def test_a_target_that_no_reading_shows_is_found_from_the_readings_before_it(gap_s: float) -> None:
    """Polled twice a second the valve may have been there and back; the uncertainty holds what was not seen."""
    stroke = observed()
    turn_ns = max(stroke.away(), key=lambda reading: reading.value).at_ns
    sparse = tuple(
        item
        for item in stroke.seen
        if isinstance(item, Readings) and item.number % 10 == 0 and abs(item.at_ns - turn_ns) > gap_s * 1e9
    )
    found = {f.name: f for f in partial_figures(msgspec.structs.replace(stroke, seen=sparse), SHEET)}
    value, spread = float(found["time_to_target"].value), float(found["time_to_target"].expanded_uncertainty)
    dense = figures()["time_to_target"]
    assert abs(value - float(dense.value)) <= spread + float(dense.expanded_uncertainty)
    assert spread > float(dense.expanded_uncertainty) / 2


def test_a_stroke_that_turned_short_never_came_to_its_target() -> None:
    """Nothing is extrapolated to where the valve was not."""
    found = {f.name for f in partial_figures(msgspec.structs.replace(observed(), target=0.17), SHEET)}
    assert "time_to_target" not in found


def test_a_stroke_returned_on_purpose_is_taken_at_the_same_places() -> None:
    """5 and 10 % of travel are those of the sheet's target, as far as it came."""
    names = {f.name for f in partial_figures(msgspec.structs.replace(observed(), target=0.08), SHEET)}
    assert {"out_pressure_5_pct", "out_pressure_10_pct"} <= names
    assert "out_pressure_8_pct" not in names
