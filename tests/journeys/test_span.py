"""M1 at the practice unit over a real wire, in virtual time: points held, stopped, taken over, recomputed."""

import asyncio
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from commission.analysis.span import LARGEST
from commission.face.metered import Metered, opened_meter
from commission.job import bodies
from commission.job.state import Job
from commission.practice.bench import Terminal, instruments_of
from commission.procedures.requests import Answer, Ask
from commission.record.reader import Reader
from commission.report.spans import noted, spans
from commission.report.strokes import rules_of
from commission.report.wiring import point_to_point
from commission.supervise.order import MotionRefused
from commission.verify import POINTS, Recomputed, verify_job
from commission.walk.acts import adjusted
from commission.walk.conclusion import conclude
from tests.virtual_time import run_virtual
from tests.visiting import CHECKLIST, MARA, OLLIE, TESS, There, visiting

SPEED = 10.0
"""Of the practice unit: a tenth of the samples."""

M1 = """
[[steps]]
id = "K9"
title = "Read the feedback against the stem"
state = "live"
moves = true
do = "Read it."
cautions = ["pinch"]
procedures = [{ name = "span", arguments = { signal = "feedback", moved_by = "laptop" } }]
questions = [
    { id = "meter", ask = "Meter", effect = "argument", about = "meter" },
    { id = "accuracy", ask = "Its accuracy", effect = "argument", about = "meter_accuracy" },
    { id = "scale", ask = "Step", kind = "number", unit = "deg", effect = "argument", about = "stem_step" },
]
"""


WITH_ROOM = M1.replace('moved_by = "laptop"', 'moved_by = "laptop", room = "yes"')
"""The same with the controller on the line."""

NEAR_BY = M1.replace('moved_by = "laptop"', 'moved_by = "laptop", points = "0 6 12"')
"""The same at points close to one another: the unit's own physics takes most of a test's time."""


class AtTheValve:
    """
    People who read stem and meter at the unit when they are asked, and let it move on.

    Args:
        meter: What the meter shows at a stem angle; the unit's own clamp unless given.
    """

    def __init__(self, meter: Callable[[float], float] | None = None) -> None:
        self.there: There | None = None
        self.asked: list[str] = []
        self.held: list[float] = []
        self.cancel = 0
        self.busy_at = ""
        self._meter = meter

    async def ask(self, question: Ask) -> Answer:
        """One answer, as things stand at the unit."""
        assert self.there is not None
        desk, clock = self.there.unit.desk, self.there.visit.clock
        self.asked.append(question.text)
        if question.kind == "key" and not self.cancel:
            await asyncio.Event().wait()
        if question.kind == "key":
            self.cancel -= 1
            return Answer(question.id, "a key", OLLIE, clock.unit_ns())
        if self.busy_at and question.text.startswith(self.busy_at):
            await asyncio.Event().wait()
        stem = float(desk.read("stem"))
        if question.kind == "go":
            return Answer(question.id, "go", OLLIE, clock.unit_ns())
        if question.id == "room":
            their_time = clock.utc() - timedelta(seconds=7)
            said = f"{desk.read('control_room')['feedback_ma']:.2f} mA {their_time:%H:%M:%S}"
            return Answer(question.id, said, MARA, clock.unit_ns())
        if question.id == "stem":
            self.held.append(desk.read("truth")["travel_pct"])
            return Answer(question.id, f"{stem:g}", OLLIE, clock.unit_ns(), stem)
        current = float(desk.read("clamp")) if self._meter is None else self._meter(stem)
        return Answer(question.id, f"{current:g}", OLLIE, clock.unit_ns(), current)


async def prepared(there: There, people: AtTheValve, *, accuracy: str = "0.02 mA") -> None:
    """Live, and the meter known."""
    people.there = there
    await there.go_live()
    visit = there.visit
    visit.record(bodies.StepBegun(step="K9", cautions=("pinch",)), TESS)
    for question, text, value in (("meter", "M-03", None), ("accuracy", accuracy, None), ("scale", "0.1", 0.1)):
        visit.record(bodies.Answered(step="K9", question=question, text=text, value=value), TESS)


@pytest.mark.long
def test_the_feedback_is_read_at_points_that_the_laptop_holds(tmp_path: Path) -> None:
    """
    Each point is near where it was asked for and read in the control room too, the loop passes, both stand in the
    report, and every figure and point recomputes from the record.
    """

    async def main() -> None:
        people = AtTheValve()
        async with visiting(tmp_path, steps=CHECKLIST + WITH_ROOM, people=people, speed=SPEED) as there:
            compared = bodies.ClockCompared(when="start", offset_s=7.0, against="event log, by voice")
            there.visit.record(compared, TESS)
            await prepared(there, people)
            ended = await there.run("K9")
            assert ended.how == "finished"
            assert people.held == pytest.approx([0, 25, 50, 75, 100], abs=2.0)
            run = there.visit.job.runs["K9-1"]
            assert [result.verdict for result in run.results] == ["pass"]
            figure = run.figure(LARGEST)
            assert figure is not None
            assert abs(figure.unrounded) < 0.003
            assert run.begun.arguments["meter_accuracy"] == "0.02 mA"
            assert any("down not tested: closing takes 8 s" in note for note in run.notes)
            assert [sent.role for sent in run.sent] == ["command_open", "command_stop"] * 3 + ["command_open"]
            assert sum(text.startswith("Hands and tools") for text in people.asked) == 4
            check_point_to_point(there.visit.job)

    run_virtual(main())
    checked = verify_job(tmp_path / "XV-1101.job")
    assert any(check.figure == POINTS for check in checked.figures)
    assert {check.recomputed for check in checked.figures} == {Recomputed.SAME}
    assert len(checked.figures) > 20


def check_point_to_point(job: Job) -> None:
    """A row a point: forced by the valve, in the loop, read by whom, at what time of theirs; and nothing left over."""
    table = point_to_point(job)
    assert [row[:2] for row in table.rows] == [("K9", f"Feedback at {at} % up") for at in (0, 25, 50, 75, 100)]
    _step, forced, at_unit, room, their_time, who, finding = table.rows[1]
    assert finding == "as it should be", forced
    assert float(room.removesuffix(" mA")) == pytest.approx(float(at_unit.split()[0]), abs=0.05)
    assert "mA in the loop, " in at_unit
    assert who == MARA
    assert their_time.count(":") == 2
    assert not any("feedback current" in note for note in table.notes)


@pytest.mark.long
def test_an_offset_fails_and_is_named(tmp_path: Path) -> None:
    """A meter that shows 0.3 mA more than the unit's own register: the loop, or the register, is off."""

    async def main() -> None:
        people = AtTheValve(lambda stem_deg: round(4.3 + 16 * stem_deg / 90, 2))
        async with visiting(tmp_path, steps=CHECKLIST + NEAR_BY, people=people, speed=SPEED) as there:
            await prepared(there, people)
            await there.run("K9")
            run = there.visit.job.runs["K9-1"]
            assert [result.verdict for result in run.results] == ["fail"]
            figure = run.figure(LARGEST)
            assert figure is not None
            assert figure.unrounded == pytest.approx(0.01875, abs=0.001)
            assert "offset: +1.8" in figure.note
            assert "trim" not in figure.note  # nothing was read near the open end
            assert "the unit's own register is up to 1." in figure.note

    run_virtual(main())


def test_a_valve_that_does_not_come_to_a_point_says_so(tmp_path: Path) -> None:
    """The motor supply is off: not decided, with the point in words, and the stop that followed the go."""

    async def main() -> None:
        people = AtTheValve()
        async with visiting(tmp_path, steps=CHECKLIST + NEAR_BY, people=people, speed=SPEED) as there:
            await prepared(there, people)
            there.unit.desk.act("motor_isolator", False)
            await there.run("K9")
            run = there.visit.job.runs["K9-1"]
            assert [result.verdict for result in run.results] == ["not decided"]
            assert "6 % up: a point was not reached" in run.results[0].rule
            given = [sent.role for sent in run.sent if sent.purpose == "procedure"]
            assert given == ["command_open", "command_stop"]

    run_virtual(main())


def test_a_key_in_the_countdown_leaves_it_where_it_is(tmp_path: Path) -> None:
    """The go is asked for again, and nothing was sent before it."""

    async def main() -> None:
        people = AtTheValve()
        people.cancel = 1
        async with visiting(tmp_path, steps=CHECKLIST + NEAR_BY, people=people, speed=SPEED) as there:
            await prepared(there, people)
            await there.run("K9")
            notes = there.visit.job.runs["K9-1"].notes
            assert "cancelled: the valve stays where it is" in notes
            assert sum(text.startswith("Hands and tools") for text in people.asked) == 3

    run_virtual(main())


def test_a_stop_on_the_way_to_a_point_holds_it_there(tmp_path: Path) -> None:
    """STOP reaches the unit, the valve stands, and nothing moves it again."""

    async def main() -> None:
        people = AtTheValve()
        async with visiting(tmp_path, steps=CHECKLIST + NEAR_BY, people=people, speed=SPEED) as there:
            await prepared(there, people)
            running = asyncio.get_running_loop().create_task(there.run("K9"))
            while there.unit.desk.read("truth")["travel_pct"] < 8:
                await there.visit.clock.sleep_wire(0.1)
            there.visit.stop(TESS, "stop key")
            ended = await running
            assert (ended.how, ended.safe_end.seen) == ("stopped", "confirmed")
            held = there.unit.desk.read("truth")["travel_pct"]
            await there.visit.clock.sleep_wire(30)
            assert there.unit.desk.read("truth")["travel_pct"] == pytest.approx(held, abs=0.5)
            assert 8 <= held < 14
            assert [result.verdict for result in there.visit.job.runs["K9-1"].results] == ["stopped"]

    run_virtual(main())


def test_an_esd_while_a_point_is_read_has_the_valve(tmp_path: Path) -> None:
    """Guards go on while people read: nothing is sent any more, and the run ends."""

    async def main() -> None:
        people = AtTheValve()
        people.busy_at = "6 % up: stem"
        async with visiting(tmp_path, steps=CHECKLIST + NEAR_BY, people=people, speed=SPEED) as there:
            await prepared(there, people)
            running = asyncio.get_running_loop().create_task(there.run("K9"))
            while not people.asked or not people.asked[-1].startswith("6 % up: stem"):
                await there.visit.clock.sleep_wire(0.1)
            there.unit.desk.act("esd_button", True)
            ended = await running
            assert (ended.how, ended.safe_end.seen) == ("aborted", "withheld")
            sent = [sent.role for sent in there.visit.job.runs["K9-1"].sent]
            assert sent == ["command_open", "command_stop"]

    run_virtual(main())


def test_without_the_meters_accuracy_nothing_begins(tmp_path: Path) -> None:
    """Refused with what is missing; the unit hears nothing."""

    async def main() -> None:
        people = AtTheValve()
        async with visiting(tmp_path, steps=CHECKLIST + NEAR_BY, people=people, speed=SPEED) as there:
            people.there = there
            await there.go_live()
            with pytest.raises(MotionRefused, match="accuracy is needed"):
                await there.run("K9")
            assert "K9-1" not in there.visit.job.runs

    run_virtual(main())


@pytest.mark.long
def test_a_meter_too_coarse_decides_nothing(tmp_path: Path) -> None:
    """Said before the first point; not decided at the end, with what would settle it."""

    async def main() -> None:
        people = AtTheValve()
        async with visiting(tmp_path, steps=CHECKLIST + NEAR_BY, people=people, speed=SPEED) as there:
            await prepared(there, people, accuracy="1 % FS")
            await there.run("K9")
            run = there.visit.job.runs["K9-1"]
            said = next(note for note in run.notes if "decides: no" in note)
            assert run.notes.index(said) < run.notes.index("asked: 0 % up")
            assert [result.verdict for result in run.results] == ["not decided"]
            assert run.results[0].settles

    run_virtual(main())


class Wired:
    """People at the valve, and the unit's own clamp on a serial line; opened once the unit is there."""

    def __init__(self) -> None:
        self.people = AtTheValve(lambda _stem: 99.0)
        self.metered: Metered | None = None

    async def ask(self, question: Ask) -> Answer:
        """From the instrument where it can say it."""
        assert self.metered is not None
        return await self.metered.ask(question)


@pytest.mark.long
def test_a_meter_on_its_own_line_says_its_readings_itself(tmp_path: Path) -> None:
    """M1 in real time with the practice clamp on a pty: nobody types a current, and the record names the instrument."""

    async def main() -> None:
        wired = Wired()
        async with visiting(tmp_path, steps=CHECKLIST + NEAR_BY, people=wired, speed=SPEED, real_time=True) as there:
            await prepared(there, wired.people)
            unit = there.unit.desk.unit
            terminal = Terminal(instruments_of(unit, 1)["M-03"], lambda: None)
            terminal.open()
            meter = await opened_meter(f"M-03={terminal.path}", there.visit.clock)
            wired.metered = Metered(wired.people, meter, there.visit.clock)
            try:
                ended = await there.run("K9")
            finally:
                meter.close()
                terminal.close()
            assert ended.how == "finished", ended
            assert [result.verdict for result in there.visit.job.runs["K9-1"].results] == ["pass"]

    asyncio.run(main())
    with Reader(tmp_path / "XV-1101.job") as reader:
        said = [event for event in reader.events() if event.kind == "procedure_answered"]
    of_meter = [event for event in said if event.body["question"] == "meter"]
    assert len(of_meter) == 3
    assert {event.by for event in of_meter} == {"instrument M-03"}
    assert all("mA by wire" in event.body["text"] for event in of_meter)
    assert {check.recomputed for check in verify_job(tmp_path / "XV-1101.job").figures} == {Recomputed.SAME}


AGAIN = (
    CHECKLIST.replace(
        '{ id = "K", name = "strokes" }]',
        '{ id = "K", name = "strokes" }, { id = "L", name = "partial" }, { id = "M", name = "loops" }]',
    ).replace(
        "voids = [{",
        'voids = [{ id = "sensor", touched = "position sensor or its scaling", voids = ["L", "M1"] }, {',
    )
    + NEAR_BY.replace('id = "K9"', 'id = "M1"')
    + """
[[steps]]
id = "L1"
title = "Say something that rests on travel"
state = "any"
do = "Say it."
cautions = ["pinch"]
questions = [{ id = "seen", ask = "What rests on it" }]
"""
)


def _pct(stem_deg: float) -> float:
    return stem_deg / 90 * 100


@pytest.mark.long
def test_m1_again_after_an_adjustment_keeps_what_was_found_beside_what_is_left(tmp_path: Path) -> None:
    """
    A zero half a milliamp off fails and is a deviation; the adjustment makes it and what rests on it void; read again
    it is *pass after adjustment*, and the report holds both, point by point.
    """

    async def main() -> None:
        off_ma = [0.5]
        people = AtTheValve(lambda stem: 4 + 0.16 * _pct(stem) + off_ma[0])
        async with visiting(tmp_path, steps=AGAIN, people=people, speed=SPEED) as there:
            people.there = there
            await there.go_live()
            visit = there.visit
            visit.record(bodies.StepBegun(step="L1"), TESS)
            visit.record(bodies.StepConcluded(step="L1", verdict="pass"), TESS)
            await read(there)
            found = visit.job.runs["M1-1"]
            assert [result.verdict for result in found.results] == ["fail"]
            assert last(there) == "fail"
            assert visit.job.deviations
            off_ma[0] = 0.0
            visit.record(adjusted(visit.job, "sensor", "zero from 4.5 to 4.0 mA"), TESS)
            assert visit.job.steps["M1"].last is not None
            assert all(visit.job.steps[name].last.voided_by for name in ("M1", "L1"))  # type: ignore[union-attr]  # both were walked
            await closed_at_the_panel(there)
            await read(there)
            left = visit.job.runs["M1-2"]
            assert [result.verdict for result in left.results] == ["pass"]
            assert last(there) == "pass after adjustment"
            check_both_are_printed(visit.job)

    run_virtual(main())
    assert {check.recomputed for check in verify_job(tmp_path / "XV-1101.job").figures} == {Recomputed.SAME}


async def read(there: There) -> None:
    """The loop is read once, and the step concluded."""
    visit, step = there.visit, there.visit.job.checklist.step("M1")
    visit.record(bodies.StepBegun(step="M1", cautions=("pinch",)), TESS)
    for question, text, value in (("meter", "M-03", None), ("accuracy", "0.02 mA", None), ("scale", "0.1", 0.1)):
        visit.record(bodies.Answered(step="M1", question=question, text=text, value=value), TESS)
    ended = await there.run("M1")
    assert ended.how == "finished", ended
    visit.record_all(conclude(visit.job, step), TESS)


def last(there: There) -> str:
    """The step's latest verdict."""
    attempt = there.visit.job.steps["M1"].last
    assert attempt is not None
    return str(attempt.verdict)


async def closed_at_the_panel(there: There) -> None:
    """Back to where the next reading begins."""
    desk = there.unit.desk
    desk.act("selector", "LOCAL")
    desk.act("local_close")
    while not desk.read("truth")["closed_limit"]:
        await there.visit.clock.sleep_wire(0.1)
    await there.visit.clock.sleep_wire(0.5)
    desk.act("selector", "REMOTE")


def check_both_are_printed(job: Job) -> None:
    """As found and as left side by side, the failure still a failure, and on page one."""
    (loop,) = spans(job, rules_of(job))
    row = next(row for row in loop.points.rows if row[0].startswith("6 %"))
    columns = dict(zip(loop.points.columns, row, strict=True))
    assert columns["error, as found"].startswith("3.1")
    assert abs(float(columns["error, as left"].split()[0])) < 0.3
    assert "fail" in loop.judged.rows[0][4]
    assert loop.judged.rows[1][4].startswith("pass")
    assert any(line.startswith("as-found failure, feedback: 3.1") for line in noted(job))
