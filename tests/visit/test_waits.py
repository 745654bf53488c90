"""A wait at a practice unit, shortened: both jump by the same, a test that only waits is read into each minute."""

import asyncio
from itertools import pairwise
from pathlib import Path

import pytest

from commission.procedures.requests import Answer, Ask
from commission.visit import VisitError, waits
from tests.virtual_time import run_virtual
from tests.visiting import CHECKLIST, TESS, There, closing, visiting

STEPS = f"""{CHECKLIST}
[[steps]]
id = "K9"
title = "Leave it"
state = "live"
moves = true
do = "Leave it."
cautions = ["pinch"]
procedures = [{{ name = "hold", arguments = {{ minutes = "2.5", most_change_pct = "1", origin = "a test" }} }}]
"""
SKIPPED_S = 100.0


class Watcher:
    """Says what they see after time was let pass, where it was."""

    def __init__(self) -> None:
        self.there: There | None = None
        self.asked = 0

    async def ask(self, question: Ask) -> Answer:
        """Lets most of the time pass first."""
        self.asked += 1
        assert self.there is not None
        await passed(self.there, SKIPPED_S)
        return Answer(question.id, "dry", TESS, self.there.visit.clock.unit_ns())


async def passed(there: There, seconds: float) -> None:
    """Time is let pass by somebody at the unit."""

    async def at_unit(part_s: float) -> None:
        there.unit.desk.act("let_time_pass", part_s)

    await waits.let_pass(there.visit, seconds, at_unit, "K9", TESS)


def shortened(there: There) -> list[float]:
    """What is recorded from now on as shortened, in seconds."""
    found: list[float] = []
    kind = "wait_shortened"
    there.visit.on_event(lambda event: found.append(event.body["seconds"]) if event.kind == kind else None)
    return found


def apart_s(there: There) -> float:
    """How far the unit's time, brought to now, is from the visit's; it is only meant against itself."""
    there.unit.desk.read("positions")
    return there.unit.desk.unit.now_s - there.visit.clock.unit_ns() / 1e9


def test_a_watch_is_skipped_by_both_together_and_read_into_each_minute(tmp_path: Path) -> None:
    """Most of the time takes none; no reading is further than a minute from the next, and each minute has several."""

    async def main() -> None:
        people = Watcher()
        async with visiting(tmp_path, steps=STEPS, people=people) as there:
            people.there = there
            await there.go_live()
            there.opened_at_the_panel()
            recorded, before_s = shortened(there), apart_s(there)
            began_s = asyncio.get_running_loop().time()
            ended = await there.run("K9")
            assert ended.observed is not None
            assert asyncio.get_running_loop().time() - began_s < 150 - SKIPPED_S + 15
            assert (ended.how, people.asked, recorded) == ("finished", 1, [SKIPPED_S])
            assert apart_s(there) == pytest.approx(before_s, abs=0.1)
            at_s = [item.at_ns / 1e9 for item in ended.observed.seen]
            assert at_s[-1] - at_s[0] == pytest.approx(150, abs=2)
            steps_s = [after - before for before, after in pairwise(at_s)]
            assert max(steps_s) < 61
            assert sum(step > 5 for step in steps_s) == 2, "of 59 s, and of the 41 that are left"
            run = list(there.visit.job.runs.values())[-1]
            assert run.results[-1].verdict == "pass"

    run_virtual(main())


def test_in_a_stroke_time_passes_by_itself(tmp_path: Path) -> None:
    """Nothing is skipped, there or here, and nothing recorded."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            running = await closing(there)
            recorded, before_s = shortened(there), apart_s(there)
            assert not waits.may_pass(there.visit)
            with pytest.raises(VisitError, match="by itself"):
                await passed(there, 60)
            assert recorded == []
            assert apart_s(there) == pytest.approx(before_s, abs=0.1)
            await running

    run_virtual(main())


def test_with_nothing_running_it_passes_at_once(tmp_path: Path) -> None:
    """Five minutes for both in no time."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            recorded, before_s, at_ns = shortened(there), apart_s(there), there.visit.clock.unit_ns()
            await passed(there, 300)
            assert there.visit.clock.unit_ns() - at_ns >= 300e9
            assert recorded == [300.0]
            assert apart_s(there) == pytest.approx(before_s, abs=0.1)

    run_virtual(main())
