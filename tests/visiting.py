"""
A visit to a real practice unit, from an open job file to live: what the tests of visit, verify and replay begin with.

    async with visiting(tmp_path, start="open", speed=20) as there:
        there.go_live()
        ended = await there.stroke("closed")

The evidence of each crossing is what people would say; the unit itself stands ready. Nothing is faked between the
visit and the unit.
"""

import asyncio
import contextlib
from collections.abc import AsyncIterator
from datetime import timedelta
from pathlib import Path
from typing import Any

from commission.checklist import ProcedureUse, Step
from commission.clock import Clock
from commission.content import Text, checklists_folder, read_text
from commission.energy import missing
from commission.job import bodies
from commission.practice.condition import HEALTHY, Condition
from commission.procedures.requests import Answer, Ask
from commission.record.reader import Reader
from commission.supervise.order import Ended
from commission.supervise.surroundings import People
from commission.visit import Visit
from commission.walk.confirm import confirm, kind_of_confirmation
from commission.walk.movement import next_test
from tests.supervise.rig import Served, demo_sheet, hold_time_while, served
from tests.virtual_time import virtual_clock

TESS, OLLIE, MARA = "Tess Placeholder", "Ollie Sampleton", "Mara Mockford"
PEOPLE = 4

CHECKLIST = """
format = 1
name = "Strokes of one unit"
revision = "1"
phases = [{ id = "I", name = "energising" }, { id = "K", name = "strokes" }]
cautions = [{ id = "pinch", word = "WARNING", text = "Stem can move. No hand inside." }]
voids = [{ id = "closed-limit", touched = "limit cam", voids = ["K1"] }]

[[steps]]
id = "I2"
title = "Prove the commands"
state = "control"
do = "Pulse them."
cautions = ["pinch"]
procedures = [{ name = "prove_commands" }]

[[steps]]
id = "K1-open"
title = "Time the opening stroke"
state = "live"
moves = true
do = "Stroke it."
cautions = ["pinch"]
procedures = [{ name = "full_stroke", arguments = { direction = "open" }, times = 3 }]

[[steps]]
id = "K1-close"
title = "Time the closing stroke"
state = "live"
moves = true
do = "Stroke it."
cautions = ["pinch"]
procedures = [{ name = "full_stroke", arguments = { direction = "closed" }, times = 3 }]
"""

_SAID: dict[str, dict[str, object]] = {
    "names": {"text": MARA},
    "count": {"count": PEOPLE},
    "lock": {"number": "L-07"},
    "place": {"how": "fail position", "stem_mark": "closed"},
    "meter": {"live_before_v": 24.1, "dead_v": 0.0, "live_after_v": 24.1},
}
_BARS = {"seen above zero": 104.0, "seen to fall": 31.0}


class Nobody:
    """People who are not asked anything by a stroke."""

    async def ask(self, question: Ask) -> Answer:
        """Nobody is there."""
        raise AssertionError(question)


class There:
    """A visit, and the unit it is to."""

    def __init__(self, visit: Visit, unit: Served) -> None:
        self.visit = visit
        self.unit = unit

    async def connect(self) -> None:
        """The line is up."""
        await self.visit.connect(self.unit.address.text, other_master="none", agreed_by=MARA, by=TESS)

    def arrive(self) -> None:
        """People and permit."""
        for name, role in ((TESS, "technician"), (OLLIE, "area operator"), (MARA, "controller")):
            self.visit.record(bodies.PersonAdded(name=name, role=role), TESS)
        until = (self.visit.clock.utc() + timedelta(hours=10)).isoformat()
        permit = bodies.PermitRecorded(number="QR-PTW-0417", until_utc=until, gas_test="0 % LEL", tester=OLLIE)
        self.visit.record(permit, TESS)

    def cross(self, *targets: str) -> None:
        """Through energy states with all the evidence that each needs."""
        for target in targets:
            self.visit.record(bodies.EnergyBegun(target=target), TESS)
            while needs := missing(self.visit.job.energy_log.now, self.visit.job.sheet):
                need = needs[0]
                details = _SAID.get(need.ask, {})
                if need.ask == "reading":
                    details = {"bar": _BARS.get(need.fact, 0.0), "read_on": "gauge", "minutes": 5}
                self.visit.record(bodies.EnergyProved(fact=need.fact, subject=need.subject, details=details), TESS)
            self.visit.record(bodies.EnergyEntered(state=target), TESS)

    async def go_live(self) -> None:
        """Isolated, commands proved in control on a unit without pressure, back to live; the unit as it was."""
        self.arrive()
        self.cross("in operation", "locked", "control")
        proved = await self.prove_commands()
        assert proved.observed is not None, proved
        assert proved.observed.all_proved, proved
        self.cross("live")

    async def prove_commands(self) -> Ended[Any]:
        """Pulse the commands of a unit whose motor supply is off and whose pressure is let down."""
        self.unit.desk.act("motor_isolator", False)
        self.unit.desk.act("all_bleeds", True)
        self.unit.desk.unit.advance(60)
        ended = await self.run("I2")
        self.unit.desk.act("all_bleeds", False)
        self.unit.desk.act("motor_isolator", True)
        return ended

    def opened_at_the_panel(self) -> None:
        """Somebody at the unit opens the valve: the unit lives on by itself, so it takes a test no time."""
        for act, value in (("selector", "LOCAL"), ("local_open", None)):
            self.unit.desk.act(act, value)
        self.unit.desk.unit.advance(200)
        self.unit.desk.act("selector", "REMOTE")
        assert self.unit.desk.read("truth")["open_limit"]

    async def until_travel(self, below_pct: float) -> None:
        """Wait until the valve has come so far."""
        for _ in range(100_000):
            if self.unit.desk.read("truth")["travel_pct"] < below_pct:
                return
            await self.visit.clock.sleep_wire(0.005)
        raise AssertionError(self.unit.desk.read("truth"))

    def confirmed(self, step: Step, use: ProcedureUse) -> None:
        """Somebody confirms the next run."""
        job, now = self.visit.job, self.visit.clock.utc()
        test = next_test(job, step, use)
        text = "g" if kind_of_confirmation(job, test, now) == "countdown" else f"{PEOPLE} 1101 {MARA}"
        self.visit.record(confirm(job, test, text, TESS, now), TESS)

    async def run(self, step_id: str) -> Ended[Any]:
        """The next run of a step's procedure, confirmed and begun."""
        step = self.visit.job.checklist.step(step_id)
        if step_id not in self.visit.job.steps:
            self.visit.record(bodies.StepBegun(step=step_id, cautions=step.cautions), TESS)
        use = step.procedures[0]
        self.confirmed(step, use)
        return await self.visit.perform(step, use, TESS)

    def conclude(self, step_id: str) -> None:
        """The step is over."""
        self.visit.record(bodies.StepConcluded(step=step_id, verdict="pass"), TESS)

    async def stroke(self, direction: str) -> Ended[Any]:
        """One stroke to an end, its step begun before and concluded after."""
        step_id = "K1-open" if direction == "open" else "K1-close"
        ended = await self.run(step_id)
        self.conclude(step_id)
        return ended


def texts() -> tuple[Text, tuple[Text, ...]]:
    """Sheet and checklist of the visit."""
    return read_text(checklists_folder() / "units" / "xv-1101.toml"), (Text("strokes.toml", CHECKLIST),)


@contextlib.asynccontextmanager
async def visiting(
    folder: Path,
    *,
    start: str = "closed",
    rtu: bool = False,
    speed: float = 1.0,
    real_time: bool = False,
    condition: Condition = HEALTHY,
    steps: str = CHECKLIST,
    people: People | None = None,
) -> AsyncIterator[There]:
    """A visit with its line open and nothing recorded but that; closed again at the end."""
    clock = Clock() if real_time else virtual_clock()
    async with served(
        demo_sheet(), start=start, rtu=rtu, speed=speed, real_time=real_time, condition=condition
    ) as unit:
        checklist = (Text("strokes.toml", steps),)
        visit = Visit.begin(folder / "XV-1101.job", texts()[0], checklist, clock, people or Nobody(), TESS)
        hold_time_while(lambda: visit._book.recorder.busy)
        there = There(visit, unit)
        try:
            await there.connect()
            yield there
        finally:
            await visit.close("the test is over")


def kinds(path: Path) -> list[str]:
    """Every kind of event in a file."""
    with Reader(path) as reader:
        return [event.kind for event in reader.events()]


async def begun(path: Path) -> Visit:
    """A visit without a line."""
    sheet, checklist = texts()
    return Visit.begin(path, sheet, checklist, virtual_clock(), Nobody(), TESS)


async def closing(there: There) -> "asyncio.Task[Ended[Any]]":
    """A closing stroke in mid-travel."""
    await there.go_live()
    there.opened_at_the_panel()
    running = asyncio.get_running_loop().create_task(there.stroke("closed"))
    await there.until_travel(below_pct=60)
    return running


def first_use(visit: Visit) -> ProcedureUse:
    """The procedure of the opening stroke."""
    return visit.job.checklist.step("K1-open").procedures[0]


def kinds_of(visit: Visit) -> list[str]:
    """Every kind so far, read after what was appended is on the disk."""
    visit._book.recorder.checkpoint().result(timeout=5)
    return kinds(visit.path)
