"""
Safety rules R3, R8, R9 and R10 in any order of acts: whatever people, other people, the unit and the line do, and in
whatever order, no write reaches the unit that its rules forbid, and every motion ends in a way that has a name.

A visit to a real practice unit in virtual time, and a seeded draw of acts: crossings, with all of their evidence or
broken off; strokes begun, confirmed or not; stops, gas alarms, a laptop that slept; writes tried past the walk; ESD,
selector, panel and another master; a line that is silent, cut, mute or back. The judge stands at the unit: it looks at
each write as it arrives and asks what the visit knew at that moment.
"""

import asyncio
import contextlib
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from commission import energy
from commission.checklist.model import PULSE
from commission.energy import EnergyError, EnergyState, missing
from commission.face.wording import run_lines
from commission.job import bodies
from commission.job.motions import Run, open_run
from commission.job.state import fold
from commission.link.faults import LinkError
from commission.practice.acts import NotDone
from commission.record.reader import Reader
from commission.sheet import Point, WriteClass
from commission.supervise.order import Ended, MotionRefused
from commission.supervise.safe_end import LIFE_S, SafeEndSeen
from commission.visit import VisitError
from commission.walk import acts
from commission.walk.confirm import ConfirmError
from commission.walk.leave_rules import LeaveRefused
from commission.walk.route import open_step
from tests.supervise.rig import Frame
from tests.virtual_time import run_virtual
from tests.visiting import TESS, There, visiting

ACTS_A_VISIT = 100
SEEDS = [
    0,
    *(pytest.param(seed, marks=pytest.mark.long) for seed in range(1, 10)),
    *(pytest.param(seed, marks=pytest.mark.deep) for seed in range(10, 1000)),
]
"""A visit of a hundred acts in the default run, 1,000 acts in CI, 100,000 in the deep run."""

REFUSED = (MotionRefused, LeaveRefused, VisitError, LinkError, ConfirmError, EnergyError, ValueError, LookupError)
"""How the program says no; anything else is a fault of the program."""


class Judge:
    """Looks at each write as it reaches the unit, and notes what no rule allows."""

    def __init__(self, there: There) -> None:
        self.wrong: list[str] = []
        self.seen = 0
        self.stop_wanted_s = -1e9
        self._visit = there.visit
        sheet = there.visit.job.sheet
        self._points = {sheet.wire_address(point): point for point in sheet.points if point.write is not None}
        there.unit.server.on_frame = self.look

    def look(self, frame: Frame) -> None:
        """One frame."""
        if not frame.is_write:
            return
        self.seen += 1
        point = self._points.get(frame.address)
        words = "not a point of the sheet" if point is None else self._against(point, frame)
        if words:
            run = open_run(self._visit.job.runs)
            state = self._visit.job.energy_log.now.state
            self.wrong.append(f"{frame} {point and point.role}: {words}; {state}, run {run and run.begun.run}")

    def _against(self, point: Point, frame: Frame) -> str:
        if point.write is not WriteClass.SETTING and frame.value not in (0, point.value):
            return f"value {frame.value}"
        if point.write is WriteClass.STOP:
            return self._against_stop(frame)
        state = self._visit.job.energy_log.now.state
        if point.write in (WriteClass.SETTING, WriteClass.RESET):
            return "" if state in (EnergyState.CONTROL, EnergyState.LIVE) else "setting or reset in this state"
        return self._against_motion(point, state)

    def _against_stop(self, frame: Frame) -> str:
        """A stop is always allowed; without somebody who wants one, or a motion to end, it would be a noise."""
        wanted = open_run(self._visit.job.runs) is not None or frame.at_s - self.stop_wanted_s < 1.0
        return "" if wanted else "nobody wanted a stop"

    def _against_motion(self, point: Point, state: EnergyState) -> str:
        run = open_run(self._visit.job.runs)
        if run is None:
            return "no motion is open"
        pulse = run.begun.procedure == PULSE
        if state is not (EnergyState.CONTROL if pulse else EnergyState.LIVE):
            return "in a state that forbids it"
        if run.tripped is not None and run.tripped.taken_over:
            return "after somebody else took the valve"
        leave = self._visit._slot.current
        if leave is None:
            return "without leave"
        refused = leave.values.get(point.role) is None or leave.generation != self._visit.job.energy_log.now.generation
        return "leave is for something else, or stale" if refused else ""


class Anybody:
    """Whoever does the next thing, sensible or not."""

    def __init__(self, there: There, draw: random.Random, judge: Judge) -> None:
        self.there = there
        self.draw = draw
        self.judge = judge
        self.moving: asyncio.Task[Ended[Any]] | None = None
        self.done: dict[str, int] = {}

    async def act(self) -> None:
        """One act; a refusal is an answer."""
        name = self.draw.choices(list(ACTS), [weight for weight, _ in ACTS.values()])[0]
        self.done[name] = self.done.get(name, 0) + 1
        with contextlib.suppress(*REFUSED, NotDone):
            await asyncio.wait_for(ACTS[name][1](self), timeout=600)
        if self.moving is not None and self.moving.done():
            _outcome(self.moving)
            self.moving = None
            self.conclude()

    async def cross(self) -> None:
        """Towards a state that can be reached from here, now and then only part of the way."""
        now = self.there.visit.job.energy_log.now
        ways = [way.target for way in energy.CROSSINGS if way.source is now.state]
        if not ways:
            return
        target = self.draw.choice(ways)
        if self.draw.random() < 0.8:
            self.there.cross(target)
            return
        self.there.visit.record(bodies.EnergyBegun(target=target), TESS)
        assert missing(self.there.visit.job.energy_log.now, self.there.visit.job.sheet)

    async def work(self) -> None:
        """The whole way to live with proved commands, as a sensible crew goes it: everything put right first."""
        if self.moving is not None:
            return
        for name, value in PUT_RIGHT:
            self.there.unit.desk.act(name, value)
        server, visit = self.there.unit.server, self.there.visit
        server.deaf, server.mute_writes = False, 0
        await visit.answers_again()
        self.conclude()
        if visit.job.energy_log.now.target is not None:
            visit.record(acts.abandon_crossing(visit.job, "to begin anew"), TESS)
        for target in ("locked", "control"):
            if visit.job.energy_log.now.state not in (target, EnergyState.CONTROL):
                self.there.cross(target)
        await self.there.prove_commands()
        self.conclude()
        self.there.cross("live")
        for name, value in (("selector", "LOCAL"), ("local_reset", None), ("local_open", None)):
            self.there.unit.desk.act(name, value)
        self.there.unit.desk.unit.advance(200)
        self.there.unit.desk.act("selector", "REMOTE")

    def conclude(self) -> None:
        """A step that was left half done is ended, as it would keep all others waiting."""
        begun = open_step(self.there.visit.job)
        if begun is not None:
            self.there.visit.record(bodies.StepConcluded(step=begun.id, verdict="not tested", reason="left"), TESS)

    async def prove(self) -> None:
        """The pulses, wherever the visit stands."""
        if self.moving is None:
            await self.there.prove_commands()

    async def begin(self) -> None:
        """A stroke, confirmed, left to run while other things happen."""
        if self.moving is None:
            step = self.draw.choice(("K1-close", "K1-close", "K1-open"))
            self.moving = asyncio.get_running_loop().create_task(self.there.run(step))
            await asyncio.sleep(self.draw.uniform(0.0, 3.0))

    async def begin_unconfirmed(self) -> None:
        """A stroke that nobody confirmed."""
        step = self.there.visit.job.checklist.step("K1-close")
        await self.there.visit.perform(step, step.procedures[0], TESS)
        raise AssertionError("a stroke was made that nobody confirmed")

    async def write(self) -> None:
        """A write past the walk: any role, any value."""
        link = self.there.visit.link
        if link is not None:
            points = self.there.visit.job.sheet.points
            commands = [point.role for point in points if point.write in (WriteClass.MOTION, WriteClass.RESET)]
            role = self.draw.choice(commands if self.draw.random() < 0.7 else [point.role for point in points])
            value = self.draw.choice((1, 1, 1, 0, 2, 65535, -1))
            if role == "command_stop":
                self.judge.stop_wanted_s = asyncio.get_running_loop().time()
            await link.write(role, value, self.there.visit.energy_view())

    async def stop(self) -> None:
        """The stop key, in a motion or at rest."""
        self.judge.stop_wanted_s = asyncio.get_running_loop().time()
        if not self.there.visit.stop(TESS, "stop key"):
            await self.there.visit.send_stop(TESS)

    async def gas(self) -> None:
        """The gas alarm."""
        self.there.visit.gas_alarm(TESS)

    async def sleep_lid(self) -> None:
        """The laptop slept."""
        self.there.visit.was_away(45.0)

    async def at_unit(self) -> None:
        """Somebody does something at the unit, or from another master."""
        name, value, which = self.draw.choice(AT_UNIT)
        self.there.unit.desk.act(name, value, which=which)

    async def line(self) -> None:
        """The line goes, or comes back."""
        server = self.there.unit.server
        match self.draw.randrange(4):
            case 0:
                server.deaf = True
            case 1:
                server.mute_writes = 2
            case 2:
                self.there.unit.hang_up()
            case _:
                server.deaf, server.mute_writes = False, 0
                await self.there.visit.answers_again()

    async def cancel(self) -> None:
        """The face that asked for the motion dies; the motion does not."""
        if self.moving is not None:
            self.moving.cancel()

    async def adjust(self) -> None:
        """Something is adjusted, or put on the temporary list."""
        visit = self.there.visit
        visit.record(bodies.Adjusted(touched="closed-limit", detail="a turn"), TESS)

    async def wait(self) -> None:
        """Time passes."""
        await asyncio.sleep(self.draw.choice((0.05, 0.3, 1.0, 4.0)))


PUT_RIGHT: tuple[tuple[str, Any], ...] = (
    ("control_supply", True),
    ("esd_button", False),
    ("control_room_esd", False),
    ("lift_float", False),
    ("motor_isolator", True),
    ("selector", "LOCAL"),
    ("local_reset", None),
    ("selector", "REMOTE"),
)

AT_UNIT: tuple[tuple[str, Any, str], ...] = (
    ("esd_button", True, ""),
    ("esd_button", False, ""),
    ("selector", "LOCAL", ""),
    ("selector", "REMOTE", ""),
    ("selector", "REMOTE", ""),
    ("local_stop", None, ""),
    ("local_reset", None, ""),
    ("local_open", None, ""),
    ("control_room_esd", True, ""),
    ("control_room_esd", False, ""),
    ("lift_float", True, ""),
    ("lift_float", False, ""),
    ("motor_isolator", False, ""),
    ("motor_isolator", True, ""),
    ("other_master_orders", None, "open"),
    ("other_master_orders", None, "close"),
    ("control_supply", True, ""),
)

ACTS: dict[str, tuple[int, Callable[[Anybody], Any]]] = {
    "cross": (6, Anybody.cross),
    "work": (16, Anybody.work),
    "prove": (2, Anybody.prove),
    "begin": (26, Anybody.begin),
    "begin unconfirmed": (5, Anybody.begin_unconfirmed),
    "write": (10, Anybody.write),
    "stop": (8, Anybody.stop),
    "gas": (2, Anybody.gas),
    "lid": (2, Anybody.sleep_lid),
    "at the unit": (12, Anybody.at_unit),
    "line": (8, Anybody.line),
    "cancel": (2, Anybody.cancel),
    "adjust": (2, Anybody.adjust),
    "wait": (11, Anybody.wait),
}
"""What may be done next, how often, and how."""


def _outcome(task: "asyncio.Task[Ended[Any]]") -> None:
    """A motion that is over: refused, or ended in one of the ways that have a name."""
    if task.cancelled():
        return
    error = task.exception()
    assert error is None or isinstance(error, REFUSED), error
    if error is None:
        assert task.result().safe_end.seen in set(SafeEndSeen)


def _check_run(run: Run) -> None:
    """It ended, the screen says how, and its safe end was not sent for longer than its life."""
    assert run.ended is not None, run.begun.run
    assert run.ended.safe_end in {str(way) for way in SafeEndSeen}, run.ended
    if run.ended.how != "finished":
        assert f"safe end {run.ended.safe_end}" in " ".join(" ".join(run_lines(run)).split()), run.ended
    safe = [sent for sent in run.sent if sent.purpose == "safe end"]
    if safe:
        assert (safe[-1].at_ns - safe[0].at_ns) / 1e9 <= LIFE_S + 0.2, run.begun.run


@pytest.mark.parametrize("seed", SEEDS)
def test_r08_no_write_is_forbidden_whatever_is_done_in_whatever_order(tmp_path: Path, seed: int) -> None:
    """A hundred acts; the judge has nothing to say, every run has its end, and the file folds to the same job."""

    async def main() -> None:
        draw = random.Random(seed)
        async with visiting(tmp_path, start="closed") as there:
            there.arrive()
            judge = Judge(there)
            anybody = Anybody(there, draw, judge)
            await anybody.work()
            for _ in range(ACTS_A_VISIT):
                await anybody.act()
                assert not judge.wrong, judge.wrong
            there.visit.stop(TESS, "the end")
            for task in filter(
                None, (anybody.moving, there.visit._running)
            ):  # a motion outlives the face that began it
                await asyncio.wait({task})
                _outcome(task)
            assert there.visit._slot.current is None
            for run in there.visit.job.runs.values():
                _check_run(run)
            path, job = there.visit.path, there.visit.job
            assert judge.seen, "nothing was ever sent: the judge had nothing to look at"
        assert not judge.wrong, judge.wrong
        with Reader(path) as reader:
            again = fold(reader.events())
        assert again.runs == job.runs
        assert again.energy_log == job.energy_log

    run_virtual(main())
