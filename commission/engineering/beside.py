"""
What the sheet says of each figure of a stroke, by the figure's name: to print expected beside measured.

A wrong unit, a wrong sheet or a mistaken register shows on the first stroke. Everything holds for an empty line and oil
at 20 °C, as the sheet's own expected times do; a line under pressure or cold oil may differ, and the origin says so.
"""

from collections.abc import Mapping
from functools import lru_cache

from commission.engineering.expectation import Expectation
from commission.engineering.moving import EMPTY_LINE, Mover, Stroke
from commission.engineering.same_sheet import SameSheet
from commission.engineering.topics.strokes import dead_time_s, run_to_cut_out_s
from commission.engineering.unit import Unit
from commission.sheet.model import End, Sheet

CONDITIONS = "empty line, oil 20 °C"
PLACES = (25, 50, 75)
"""Percent of travel, from closed, at which a running pressure is measured."""

SHARES = (10, 50, 90)
"""Percent of the way at which a crossing is timed."""


def beside_stroke(sheet: Sheet, towards: End) -> Mapping[str, Expectation]:
    """Expectations by figure name for a stroke to an end; empty where the sheet does not give enough."""
    return _beside(SameSheet(sheet), towards)


def computed_in_words(sheet: Sheet, towards: End) -> str:
    """Time and pressures of a stroke in one line, as `8.00 s, 53.5 to 25.0 bar`; empty where nothing is known."""
    found = beside_stroke(sheet, towards)
    time, start, end = (found.get(name) for name in ("motion_time", "pressure_at_start", "pressure_at_end"))
    if time is None:
        return ""
    if start is None or end is None:
        return time.text
    return f"{time.text}, {start.text.removesuffix(' bar')} to {end.text}"


@lru_cache(maxsize=8)
def _beside(same: SameSheet, towards: End) -> Mapping[str, Expectation]:
    try:
        unit = Unit(same.sheet)
        return _computed(unit, towards)
    except ValueError:  # a sheet that contradicts itself is told so by `commission expected`
        return {}


def _computed(unit: Unit, towards: End) -> Mapping[str, Expectation]:
    mover = Mover(unit)
    stroke = mover.stroke(towards, EMPTY_LINE)
    if stroke is None or not stroke.finishes:
        return {}
    dead_s = dead_time_s(unit, mover, towards)
    values: dict[str, tuple[float, str]] = {
        "motion_time": (stroke.time_s, "s"),
        "response_time": (stroke.time_s + dead_s, "s"),
        **_crossings(mover, towards, dead_s),
    }
    if stroke.by != "flow control":
        values |= _pressures(unit, towards, stroke)
    run_s = run_to_cut_out_s(unit, towards)
    if run_s is not None:
        values["motor_run"] = (run_s, "s")
    origin = f"computed: {stroke.by}, {CONDITIONS}"
    return {
        name: Expectation(id=name, name=name.replace("_", " "), value=value, unit=unit_name, digits=3, origin=origin)
        for name, (value, unit_name) in values.items()
    }


def _pressures(unit: Unit, towards: End, stroke: Stroke) -> dict[str, tuple[float, str]]:
    found = {
        "pressure_at_start": (stroke.start_pa / 1e5, "bar"),
        "breakaway_pressure": (stroke.start_pa / 1e5, "bar"),
        "pressure_at_end": (stroke.end_pa / 1e5, "bar"),
    }
    for place in PLACES:
        running_pa = unit.drive.moving_pa(place / 100, towards, unit.empty_share)
        found[f"running_pressure_{place}_pct"] = (running_pa / 1e5, "bar")
    return found


def _crossings(mover: Mover, towards: End, dead_s: float) -> dict[str, tuple[float, str]]:
    found = {}
    for share in SHARES:
        seconds = mover.to_travel_s(towards, share / 100)
        if seconds is not None:
            found[f"travel_{share}_pct_time"] = (seconds + dead_s, "s")
    return found
