"""
M1 and M2 of a modulating unit, FCV-2204, over a real socket in virtual time: somebody sources the command current, the
program waits hands-free until the valve stands still, and the stem is read.
"""

import asyncio
import contextlib
from collections.abc import AsyncIterator, Mapping
from pathlib import Path

import msgspec
import pytest

from commission.analysis.span import LARGEST
from commission.content import Text, checklists_folder, read_text
from commission.job import bodies
from commission.job.motions import Run
from commission.practice.condition import HEALTHY, Condition
from commission.practice.scenario import condition_of, scenario_of
from commission.procedures.requests import Answer, Ask
from commission.procedures.span_plan import span_plan
from commission.sheet import load_sheet
from commission.verify import Recomputed, verify_job
from commission.visit import Visit
from commission.walk.confirm import confirm, kind_of_confirmation
from commission.walk.movement import next_test
from tests.supervise.rig import Served, hold_time_while, served
from tests.virtual_time import run_virtual, virtual_clock
from tests.visiting import CHECKLIST, MARA, OLLIE, PEOPLE, TESS, There

UNIT = checklists_folder() / "units" / "fcv-2204.toml"
SHEET = load_sheet(UNIT)[0]
SPEED = 10.0

STEP = """
[[steps]]
id = "K9"
title = "Read the loop against the stem"
state = "live"
moves = true
do = "Read it."
cautions = ["pinch"]
procedures = [{ name = "span", arguments = { signal = "SIGNAL", moved_by = "people" } }]
questions = [
    { id = "meter", ask = "Meter", effect = "argument", about = "meter" },
    { id = "range", ask = "Range", kind = "number", unit = "mA", effect = "argument", about = "meter_full_scale_ma" },
    { id = "digit", ask = "Digit", kind = "number", unit = "mA", effect = "argument", about = "meter_digit_ma" },
    { id = "accuracy", ask = "Its accuracy", effect = "argument", about = "meter_accuracy" },
    { id = "scale", ask = "Step", kind = "number", unit = "mm", effect = "argument", about = "stem_step" },
]
"""

SAID: tuple[tuple[str, str, float | None], ...] = (
    ("meter", "C-07", None),
    ("range", "24", 24.0),
    ("digit", "0.001", 0.001),
    ("accuracy", "0.01 mA", None),
    ("scale", "0.1", 0.1),
)


class Sourcing:
    """People with a calibrator on the command loop: each point's current is put on when the one before was read."""

    def __init__(self, unit: Served, signal: str) -> None:
        self._desk = unit.desk
        self._signal = signal
        plan = span_plan(SHEET, {"signal": signal, "moved_by": "people"})
        self._points = [leg.point_pct for leg in plan.legs]
        self.put_on: list[float] = []

    def next_point(self) -> None:
        """Source the next current, where there is one."""
        if len(self.put_on) < len(self._points):
            current_ma = 4 + 0.16 * self._points[len(self.put_on)]
            self.put_on.append(current_ma)
            self._desk.act("command_signal", current_ma)

    async def ask(self, question: Ask) -> Answer:
        """The stem's scale, or the meter, as they stand at the unit."""
        clock_ns = 0
        if question.kind in ("key", "go"):
            await asyncio.Event().wait()
        if question.id == "stem":
            stem = float(self._desk.read("stem"))
            return Answer(question.id, f"{stem:g}", OLLIE, clock_ns, stem)
        current_ma = float(self._desk.read("clamp")) if self._signal == "feedback" else self.put_on[-1]
        self.next_point()
        return Answer(question.id, f"{current_ma:g}", OLLIE, clock_ns, current_ma)


@contextlib.asynccontextmanager
async def at_fcv(folder: Path, signal: str, condition: Condition) -> AsyncIterator[tuple[There, Sourcing]]:
    """A visit to FCV-2204, live, the step begun and its meter named."""
    async with served(SHEET, speed=SPEED, condition=condition) as unit:
        people = Sourcing(unit, signal)
        steps = Text("loops.toml", CHECKLIST + STEP.replace("SIGNAL", signal))
        visit = Visit.begin(folder / "FCV-2204.job", read_text(UNIT), (steps,), virtual_clock(), people, TESS)
        hold_time_while(lambda: visit._book.recorder.busy)
        there = There(visit, unit)
        try:
            await there.connect()
            there.arrive()
            there.cross("in operation", "live")
            visit.record(bodies.StepBegun(step="K9", cautions=("pinch",)), TESS)
            for question, text, value in SAID:
                visit.record(bodies.Answered(step="K9", question=question, text=text, value=value), TESS)
            yield there, people
        finally:
            await visit.close("the test is over")


async def read(there: There, people: Sourcing) -> Run:
    """The loop read at every point, there and back."""
    visit = there.visit
    step = visit.job.checklist.step("K9")
    use, now = step.procedures[0], visit.clock.utc()
    test = next_test(visit.job, step, use)
    text = "g" if kind_of_confirmation(visit.job, test, now) == "countdown" else f"{PEOPLE} 2204 {MARA}"
    visit.record(confirm(visit.job, test, text, TESS, now), TESS)
    people.next_point()
    ended = await visit.perform(step, use, TESS)
    assert ended.how == "finished", ended
    return visit.job.runs["K9-1"]


def walked(folder: Path, signal: str, condition: Condition = HEALTHY) -> tuple[Run, Sourcing]:
    """One reading of a loop; everything of it recomputes."""

    async def main() -> tuple[Run, Sourcing]:
        async with at_fcv(folder, signal, condition) as (there, people):
            return await read(there, people), people

    run, people = run_virtual(main())
    assert {check.recomputed for check in verify_job(folder / "FCV-2204.job").figures} == {Recomputed.SAME}
    return run, people


def errors(run: Run) -> Mapping[str, float]:
    """Each point's error, percent of span."""
    return {figure.name: 100 * float(figure.value) for figure in run.figures if figure.name.startswith("error_")}


@pytest.mark.slow
@pytest.mark.parametrize("signal", [pytest.param("feedback", marks=pytest.mark.long), "command"])
def test_a_sound_modulating_unit_passes_up_and_down(tmp_path: Path, signal: str) -> None:
    """Nine points or more, both ways, nothing sent from here, and the largest error within its limit."""
    run, people = walked(tmp_path, signal)
    assert [result.verdict for result in run.results] == ["pass"]
    assert run.figure(LARGEST) is not None
    assert not run.sent
    assert {"up", "down"} <= {name.split("_")[1] for name in errors(run)}
    assert people.put_on[0] == 4.0
    assert max(people.put_on) == 20.0


@pytest.mark.slow
def test_the_planted_feedback_is_found(tmp_path: Path) -> None:
    """Guide 10.5: + 0.37, + 0.12, - 0.31, - 0.88, - 1.50 % of span at 0, 25, 50, 75 and 100 %."""
    planted = condition_of(scenario_of("planted-findings", "FCV-2204"), SHEET)
    off = msgspec.structs.replace(HEALTHY, feedback_ma_at=planted.feedback_ma_at)
    run, _ = walked(tmp_path, "feedback", off)
    assert [result.verdict for result in run.results] == ["fail"]
    found = errors(run)
    for point, wanted in ((0, 0.37), (25, 0.12), (50, -0.31), (75, -0.88), (100, -1.50)):
        assert found[f"error_up_{point}_pct"] == pytest.approx(wanted, abs=0.25), found
