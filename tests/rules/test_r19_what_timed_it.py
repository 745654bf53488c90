"""Safety rule R19: each stroke says what timed it, from which to which moment, and who commanded it."""

import asyncio
from collections.abc import Callable, Mapping
from pathlib import Path

from commission.job.playback import open_archive
from commission.procedures.requests import Answer, Ask
from commission.report.contents import contents
from commission.verify import verify_job
from tests.altering import STROKE, finished_job
from tests.virtual_time import run_virtual
from tests.visiting import OLLIE, There, visiting

K5 = """
format = 1
name = "Fail-safe strokes of one unit"
revision = "1"
phases = [{ id = "I", name = "energising" }, { id = "K", name = "strokes" }]
cautions = [{ id = "pinch", word = "WARNING", text = "Stem can move. No hand inside." }]

[[steps]]
id = "I2"
title = "Prove the commands"
state = "control"
do = "Pulse them."
cautions = ["pinch"]
procedures = [{ name = "prove_commands" }]

[[steps]]
id = "K5"
title = "Trip it"
state = "live"
moves = true
do = "Watch it."
cautions = ["pinch"]
procedures = [{ name = "fail_safe", arguments = { ARGUMENTS } }]
"""


class Beside:
    """People at the unit, who do what they are asked for and say what they see."""

    def __init__(self, does: Mapping[str, Callable[[There], str]]) -> None:
        self.does = does
        self.there: There | None = None

    async def ask(self, question: Ask) -> Answer:
        """Do it, and say so; hands that are busy say nothing."""
        assert self.there is not None
        said = self.does[question.id](self.there)
        if not said:
            await asyncio.Event().wait()
        return Answer(question.id, said, OLLIE, self.there.visit.clock.unit_ns())


def acts(name: str, value: object, said: str = "") -> Callable[[There], str]:
    """One act, and what is said of it."""

    def do(there: There) -> str:
        there.unit.desk.act(name, value)  # type: ignore[arg-type]  # what the act takes
        return said

    return do


def recorder(name: str) -> Callable[[There], str]:
    """What the recorder at the stem shows."""
    return lambda there: f"{there.unit.desk.read('recorder')[name]} s"


BACK = {
    "mark": lambda there: str(there.unit.desk.read("mark")),
    "pressed": acts("local_reset", None, "pressed"),
    "begun": recorder("cause"),
    "home": recorder("home"),
    "over": lambda there: "at rest" if there.unit.desk.read("mark") == "closed" else "",
}
ESD = {"given": acts("control_room_esd", True), "restored": acts("control_room_esd", False, "out"), **BACK}
SUPPLY = {"given": acts("control_supply", False), "restored": acts("control_supply", True, "on"), **BACK}


def tripped(folder: Path, arguments: str, does: Mapping[str, Callable[[There], str]]) -> str:
    """A fail-safe stroke of a visit over a real socket; what the report says of it."""
    people = Beside(does)

    async def main() -> str:
        steps = K5.replace("ARGUMENTS", arguments)
        async with visiting(folder, speed=5, steps=steps, people=people) as there:
            people.there = there
            await there.go_live()
            there.opened_at_the_panel()
            ended = await there.run("K5")
            assert ended.how == "finished", ended
            job = there.visit.job
            return str(contents(job, {}, head_digest="ab" * 32, events=1, interim=False, made_utc=job.last_utc).strokes)

    return run_virtual(main())


def test_r19_stroke_of_a_visit_names_its_clock_and_its_commander(tmp_path: Path) -> None:
    """In the record, beside the figures."""
    run = open_archive(finished_job(tmp_path)).job.runs[STROKE]
    assert run.timed_by == "samples over the link, t0 to t6"
    assert run.commanded_by == "laptop"


def test_r19_stroke_with_its_supply_gone_has_no_time_of_its_own(tmp_path: Path) -> None:
    """Control supply lost in mid-stroke: the unit is silent, the run is ended, no stroke time comes out of the gap."""

    async def main() -> None:
        async with visiting(tmp_path, speed=5) as there:
            await there.go_live()
            there.opened_at_the_panel()
            running = asyncio.get_running_loop().create_task(there.stroke("closed"))
            await there.until_travel(below_pct=60)
            there.unit.desk.act("control_supply", False)
            ended = await running
            assert ended.how == "aborted"
            run = there.visit.job.runs[STROKE]
            assert run.figures == ()
            assert [result.verdict for result in run.results] == ["stopped"]
            assert run.gaps

    run_virtual(main())
    assert verify_job(tmp_path / "XV-1101.job").recomputes


def test_r19_an_esd_is_timed_from_the_units_own_bit_and_names_its_initiator(tmp_path: Path) -> None:
    """In the record and in the report; verify gets the same from the samples and what was said."""
    printed = tripped(tmp_path, 'cause = "ESD", by = "push button PB-7"', ESD)
    path = tmp_path / "XV-1101.job"
    (run,) = [run for run in open_archive(path).job.runs.values() if run.begun.procedure == "fail_safe"]
    assert run.timed_by == "samples over the link, cause (t0) to end limit (t6)"
    assert run.commanded_by == "ESD: push button PB-7"
    assert [result.verdict for result in run.results] == ["pass"]
    assert "push button PB-7" in printed
    assert "cause of the ESD taken away: nothing moved" in printed
    assert not run.sent
    assert {check.recomputed for check in verify_job(path).figures} == {"same"}


def test_r19_a_stroke_without_supply_is_timed_by_the_recorder(tmp_path: Path) -> None:
    """The unit is silent: its time is the recorder's, with the recorder's uncertainty, and passes by it."""
    tripped(tmp_path, 'cause = "control supply", timed_by = "recorder 0.02 s"', SUPPLY)
    path = tmp_path / "XV-1101.job"
    (run,) = [run for run in open_archive(path).job.runs.values() if run.begun.procedure == "fail_safe"]
    assert run.timed_by.startswith("independent recorder, 0.02 s, cause (t0)")
    assert run.gaps
    judged = run.figure("response_time_outside")
    assert judged is not None
    assert not judged.lower_bound_only
    assert [result.verdict for result in run.results] == ["pass"]
    assert verify_job(path).recomputes


def test_r19_a_stroke_without_supply_and_without_a_recorder_is_not_decided(tmp_path: Path) -> None:
    """Home is seen only when the power is back: no time comes out of that silence, and none is claimed."""
    tripped(tmp_path, 'cause = "control supply"', SUPPLY)
    (run,) = [
        run for run in open_archive(tmp_path / "XV-1101.job").job.runs.values() if run.begun.procedure == "fail_safe"
    ]
    assert [result.verdict for result in run.results] == ["not decided"]
    assert "silent" in run.results[0].rule


def test_r19_a_first_reading_of_the_motion_can_fail_and_never_pass(tmp_path: Path) -> None:
    """The recorder saw the stem only: what lies before its first motion is not in it."""
    arguments = 'cause = "control supply", timed_by = "recorder 0.02 s", begins = "first motion only"'
    tripped(tmp_path, arguments, {**SUPPLY, "begun": recorder("left")})
    (run,) = [
        run for run in open_archive(tmp_path / "XV-1101.job").job.runs.values() if run.begun.procedure == "fail_safe"
    ]
    assert run.figures[0].lower_bound_only
    assert [result.verdict for result in run.results] == ["not decided"]
