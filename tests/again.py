"""
A re-test of the real practice unit in virtual time: a hand-over job with its baseline, and a new job beside it.

The strokes of the baseline are the real unit's, made without a wire; everything after that goes over one.
"""

import contextlib
from collections.abc import AsyncIterator
from pathlib import Path

import msgspec

from commission.analysis.baseline import Baseline
from commission.content import Text
from commission.job import bodies
from commission.practice.condition import HEALTHY, Condition
from commission.sheet import ROLES, RoleKind, Sheet
from commission.visit.again import begin_again
from tests.analysis.partials import baseline
from tests.supervise.rig import demo_sheet, hold_time_while, served
from tests.virtual_time import virtual_clock
from tests.visiting import MARA, TESS, Nobody, There, visiting

PIET = "Piet Exampler"

KEPT = {rested: baseline(rested) for rested in (False, True)}
"""Made before any event loop runs: the strokes of a baseline have a loop of their own."""

STEPS = """
format = 1
name = "Rerun of one unit"
revision = "1"
phases = [{ id = "B", name = "arrival" }, { id = "L", name = "partial stroke" }]
cautions = [{ id = "pinch", word = "WARNING", text = "Stem can move. No hand inside." }]
voids = [{ id = "needle", touched = "needle", voids = ["L"] }]

[[steps]]
id = "B5"
title = "Look before you touch"
state = "any"
do = "Look."
cautions = ["pinch"]
questions = [
    { id = "rest_h", ask = "Hours since it moved last", kind = "number", unit = "h", least = "0", origin = "a time" },
    { id = "starts_used", ask = "Motor starts so far", kind = "count" },
]

[[steps]]
id = "L4"
title = "Rerun the partial stroke"
state = "live"
moves = true
do = "Rerun it."
cautions = ["pinch"]
procedures = [{ name = "partial_stroke", arguments = { compared = "yes", steady_s = "2" } }]
"""


def of_this_unit(sheet: Sheet, kept: Baseline) -> Baseline:
    """The baseline with the settings that the unit of this sheet reads back."""
    numbers = {
        "run_limit": "300",
        "starts_allowed": "6",
        "starts_window": "3600",
        "travel_timeout_open": "240",
        "travel_timeout_close": "15",
        "trip_high": "7e+06",
        "trip_low": "5e+06",
        "trip_high_delay": "3",
        "trip_low_delay": "5",
        "partial_guard_travel": "0.2",
        "partial_guard_time": "20",
    }
    held = {point.role for point in sheet.points if ROLES[point.role].kind is RoleKind.SETTING}
    return msgspec.structs.replace(kept, settings={role: text for role, text in numbers.items() if role in held})


async def handed_over(folder: Path, *, rested: bool = False) -> Path:
    """A job whose commands were proved and whose baseline was signed; the visit is over."""
    async with visiting(folder, speed=20) as there:
        await there.go_live()
        kept = of_this_unit(there.visit.job.sheet, KEPT[rested])
        there.visit.record(bodies.BaselineSet(baseline=kept, signed_by=PIET), PIET)
        there.cross("in operation")
        return there.visit.path


@contextlib.asynccontextmanager
async def a_year_later(
    earlier: Path, condition: Condition = HEALTHY, *, rest_h: float = 8760.0, steps: str = STEPS
) -> AsyncIterator[There]:
    """The re-test, connected, live, with what was asked of people already said."""
    clock = virtual_clock()
    async with served(demo_sheet(), start="open", speed=20, condition=condition) as unit:
        new = earlier.with_name("XV-1101-again.job")
        visit = begin_again(earlier, new, (Text("again.toml", steps),), clock, Nobody(), TESS)
        hold_time_while(lambda: visit._book.recorder.busy)
        there = There(visit, unit)
        try:
            await there.connect()
            there.arrive()
            visit.record(bodies.StepBegun(step="B5"), TESS)
            for question, value in (("rest_h", rest_h), ("starts_used", 1.0)):
                visit.record(
                    bodies.Answered(step="B5", question=question, text=f"{value:g}", value=value, unit=""), MARA
                )
            visit.record(bodies.StepConcluded(step="B5", verdict="pass"), TESS)
            there.cross("in operation", "live")
            yield there
        finally:
            await visit.close("the test is over")
