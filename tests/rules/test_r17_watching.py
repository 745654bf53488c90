"""Safety rule R17: what watches hands at the valve commands nothing, crosses no state, and is in the record whole."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import msgspec
import pytest

from commission.analysis.wiring import Finding
from commission.energy import EnergyError, EnergyState
from commission.job.bodies import DeviationRaised, EnergyBegun, StepConcluded
from commission.job.playback import open_archive
from commission.practice.condition import HEALTHY, Condition
from commission.practice.site import SiteDesk
from commission.procedures.requests import Answer, Ask
from commission.supervise.order import MotionRefused
from commission.supervise.safe_end import SafeEndSeen
from commission.verify import POINTS, VERDICT, Recomputed, verify_job
from commission.walk.conclusion import conclude
from tests.altering import altered_text
from tests.hands import Hands
from tests.virtual_time import run_virtual
from tests.visiting import TESS, There, kinds_of, visiting

STEPS = """
format = 1
name = "Contacts of one unit"
revision = "1"
phases = [{ id = "I", name = "energising" }]
cautions = [{ id = "pinch", word = "WARNING", text = "Stem can move. No hand inside." }]

[[steps]]
id = "I2"
title = "See each input change its own bit"
state = "control"
do = "Operate it as asked."
cautions = ["pinch"]
procedures = [{ name = "see_contacts", arguments = { only = "remote low_fluid" } }]
"""


class Later:
    """Somebody who comes to the valve once there is one."""

    def __init__(self) -> None:
        self.hands: Hands | None = None

    def come(self, desk: SiteDesk, **said: str) -> None:
        """There they are, with what they will say."""
        self.hands = Hands(desk, {name.replace("__", " "): words for name, words in said.items()})

    async def ask(self, question: Ask) -> Answer:
        """What the hands do."""
        assert self.hands is not None
        return await self.hands.ask(question)


@asynccontextmanager
async def in_control(folder: Path, condition: Condition = HEALTHY, **said: str) -> AsyncIterator[There]:
    """A visit in control, and somebody at the valve."""
    people = Later()
    async with visiting(folder, steps=STEPS, people=people, condition=condition) as there:
        people.come(there.unit.desk, **said)
        there.arrive()
        there.cross("in operation", "locked", "control")
        yield there


def test_r17_contacts_are_proved_without_a_key_a_write_or_a_crossing(tmp_path: Path) -> None:
    """One go, then hands only: points in the record, verdict, nothing on the wire but reads, and it recomputes."""

    async def main() -> None:
        async with in_control(tmp_path) as there:
            ended = await there.run("I2")
            assert (ended.how, ended.safe_end.seen) == ("finished", SafeEndSeen.NOT_NEEDED)
            assert not [frame for frame in there.unit.server.frames if frame.is_write]
            assert there.visit.job.energy_log.now.state is EnergyState.CONTROL
            run = there.visit.job.runs["I2-1"]
            assert run.begun.commands == {}
            assert run.proved is not None
            assert [point.finding for point in run.proved.points] == [Finding.RIGHT] * 4
            assert [result.verdict for result in run.results] == ["pass"]
            assert kinds_of(there.visit)[-2:] == ["points_proved", "result_decided"]
        check = verify_job(tmp_path / "XV-1101.job")
        assert {found.figure for found in check.figures} == {POINTS, VERDICT}
        assert {found.recomputed for found in check.figures} == {Recomputed.SAME}

    run_virtual(main())


def test_r17_no_state_is_crossed_while_it_watches_and_the_stop_key_ends_it(tmp_path: Path) -> None:
    """The state is refused by the job itself; a stop leaves a run without a verdict to lean on, and another begins."""

    async def main() -> None:
        async with in_control(tmp_path) as there:
            assert isinstance(there.visit.supervisor, object)
            running = asyncio.get_running_loop().create_task(there.run("I2"))
            await asyncio.sleep(0.5)
            with pytest.raises(EnergyError, match="is open: the energy state is not changed"):
                there.visit.record(EnergyBegun(target="live"), TESS)
            assert there.visit.stop(TESS, "stop key")
            assert (await running).how == "stopped"
            assert there.visit.job.runs["I2-1"].results[0].verdict == "stopped"
            assert (await there.run("I2")).how == "finished"

    run_virtual(main())


def test_r17_it_does_not_begin_outside_control(tmp_path: Path) -> None:
    """Live, hands would be at contacts of a valve that may move."""

    async def main() -> None:
        async with in_control(tmp_path) as there:
            there.cross("live")
            with pytest.raises(MotionRefused, match="only in control; the unit is live"):
                await there.run("I2")

    run_virtual(main())


def test_a_wiring_fault_fails_the_run_and_is_found_again_by_verify(tmp_path: Path) -> None:
    """Words, what to do and the line for the sheet are in the record; an altered point is seen."""
    crossed = Condition(crossed_contacts=(("low_fluid", "esd_healthy"),))

    async def main() -> None:
        async with in_control(tmp_path, crossed) as there:
            await there.run("I2")
            result = there.visit.job.runs["I2-1"].results[0]
            assert result.verdict == "fail"
            assert "ESD loop (discrete 7) changed instead of fluid (discrete 5)" in result.rule
            assert "low_fluid: address = 7 (the sheet says 5)" in result.rule

    run_virtual(main())
    path = tmp_path / "XV-1101.job"
    assert verify_job(path).recomputes
    n = next(event.n for event in open_archive(path).events if event.kind == "points_proved")
    altered_text(path, n, "another point changed", "as it should be")
    check = verify_job(path)
    assert not check.unaltered
    assert [found.words for found in check.figures if found.figure == POINTS] == [
        "point 3 of the proof comes out otherwise"
    ]


def test_a_failed_proof_becomes_a_deviation_with_the_exact_lines_for_the_sheet(tmp_path: Path) -> None:
    """Nothing is put right by itself: what was seen, what to look at, and the line, wait for the sheet's owner."""
    inverted = Condition(inverted_contacts=("low_fluid",))

    async def main() -> None:
        async with in_control(tmp_path, inverted) as there:
            await there.run("I2")
            job = there.visit.job
            deviation, concluded = conclude(job, job.checklist.step("I2"))
            assert isinstance(deviation, DeviationRaised)
            assert isinstance(concluded, StepConcluded)
            assert concluded.verdict == "fail"
            assert deviation.required == "See each input change its own bit"
            assert deviation.found.startswith("I2 1: Lift the level switch's float by its test rod: wrong sense.")
            assert 'low_fluid: one_means = "low" (the sheet says enough)' in deviation.found
            assert there.visit.job.sheet == job.sheet, "the sheet stays as it was opened"

    run_virtual(main())


def test_a_run_that_was_cut_off_had_nothing_to_send(tmp_path: Path) -> None:
    """After a crash in mid-watch nobody has to look at the valve for it."""

    async def main() -> None:
        async with in_control(tmp_path) as there:
            running = asyncio.get_running_loop().create_task(there.run("I2"))
            await asyncio.sleep(0.5)
            begun = there.visit.job
            there.visit.stop(TESS, "stop key")
            await running
        later = begun.after(
            msgspec.structs.replace(open_archive(tmp_path / "XV-1101.job").events[1], n=begun.last_n + 1)
        )
        ended = later.runs["I2-1"].ended
        assert ended is not None
        assert (ended.how, ended.safe_end) == ("interrupted", "not needed")
        assert "nothing was to be commanded" in ended.reason

    run_virtual(main())
