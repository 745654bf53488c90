"""After a partial stroke that was stopped: where the walk leads until the valve is back at its end; a real line."""

import asyncio
from collections.abc import Callable
from pathlib import Path

import pytest

from commission.figure import Verdict
from commission.job import bodies
from commission.supervise.safe_end import SafeEndSeen
from commission.walk import route
from commission.walk.conclusion import could_not_do
from commission.walk.confirm import Confirmation, kind_of_confirmation
from commission.walk.movement import next_test
from commission.walk.way_back import off_its_end, step_back
from tests.again import STEPS, a_year_later, handed_over
from tests.virtual_time import run_virtual
from tests.visiting import CHECKLIST, TESS, There, visiting

WITH_BACK = f"""{STEPS}
[[steps]]
id = "L1-back"
title = "Bring it back"
state = "live"
moves = true
on_request = true
do = "Count, go."
cautions = ["pinch"]
procedures = [{{ name = "bring_back" }}]
"""


@pytest.fixture(autouse=True)
def held_for_a_moment(monkeypatch: pytest.MonkeyPatch) -> None:
    """The minute in which one key brings it back is `test_r22_a_stop_is_held_for_a_minute_*`'s."""
    monkeypatch.setattr("commission.supervise.held.HELD_S", 2.0)


async def stopped_midway(there: There) -> None:
    """A partial stroke stopped by the stop key, and the minute in which R would have brought it back has passed."""
    running = asyncio.get_running_loop().create_task(there.run("L4"))
    await there.until_travel(below_pct=93)
    there.visit.stop(TESS, "stop key")
    ended = await running
    assert (ended.how, ended.safe_end.seen) == ("stopped", SafeEndSeen.CONFIRMED)
    assert 80 < there.unit.desk.read("truth")["travel_pct"] < 95


async def from_here(there: There) -> None:
    """The walk's own movement, confirmed in full: another test, and people may have come nearer."""
    job, step = there.visit.job, there.visit.job.checklist.step("L1-back")
    test = next_test(job, step, step.procedures[0])
    assert kind_of_confirmation(job, test, there.visit.clock.utc()) is Confirmation.FULL
    ended = await there.run("L1-back")
    assert ended.how == "finished", ended
    (result,) = there.visit.job.runs["L1-back-1"].results
    assert (result.verdict, result.rule) == ("pass", "brought back to its open end")
    there.conclude("L1-back")


async def by_local_control(there: There) -> None:
    """Opened at the panel; then it is only looked at."""
    desk = there.unit.desk
    desk.act("selector", "LOCAL")
    desk.act("local_open")
    while not desk.read("truth")["open_limit"]:
        await there.visit.clock.sleep_wire(0.2)
    desk.act("selector", "REMOTE")
    ended = await there.run("L1-back")
    assert ended.how == "finished", ended
    run = there.visit.job.runs["L1-back-1"]
    assert not run.sent
    assert run.results[0].rule == "seen at its open end; nothing was sent"
    there.conclude("L1-back")


@pytest.mark.parametrize(
    "way",
    [
        pytest.param(from_here, id="from here", marks=pytest.mark.long),
        pytest.param(by_local_control, id="by local control"),
    ],
)
def test_after_a_stop_the_walk_leads_the_valve_back_before_anything_else(
    tmp_path: Path, way: "Callable[[There], object]"
) -> None:
    """And then to the step that was stopped, whose next stroke begins at its end again."""

    async def main() -> None:
        earlier = await handed_over(tmp_path)
        async with a_year_later(earlier, steps=WITH_BACK) as there:
            await stopped_midway(there)
            left = off_its_end(there.visit.job)
            assert left is not None
            assert left.begun.test == "L4 1"
            due = route.current(there.visit.job)
            assert due is not None
            assert due.id == "L1-back"
            await way(there)  # type: ignore[misc]  # a coroutine
            assert there.unit.desk.read("truth")["open_limit"]
            assert off_its_end(there.visit.job) is None
            due = route.current(there.visit.job)
            assert due is not None
            assert due.id == "L4"
            ended = await there.run("L4")
            assert ended.how == "finished", ended
            assert off_its_end(there.visit.job) is None

    run_virtual(main())


@pytest.mark.long
def test_a_stroke_that_was_returned_leaves_nothing_to_bring_back(tmp_path: Path) -> None:
    """R within the test: it is seen at its end."""

    async def main() -> None:
        earlier = await handed_over(tmp_path)
        async with a_year_later(earlier, steps=WITH_BACK) as there:
            running = asyncio.get_running_loop().create_task(there.run("L4"))
            await there.until_travel(below_pct=93)
            there.visit.stop(TESS, "stop key")
            await asyncio.sleep(1.5)
            there.visit.stop(TESS, "return key", returning=True)
            ended = await running
            assert (ended.how, ended.safe_end.seen) == ("stopped", SafeEndSeen.CONFIRMED)
            assert there.unit.desk.read("truth")["open_limit"]
            assert off_its_end(there.visit.job) is None
            assert step_back(there.visit.job) == ""

    run_virtual(main())


@pytest.mark.long
def test_somebody_may_say_that_it_came_back_otherwise(tmp_path: Path) -> None:
    """Not done, with the reason: the walk goes on, and the next stroke's own check still looks at the place."""

    async def main() -> None:
        earlier = await handed_over(tmp_path)
        async with a_year_later(earlier, steps=WITH_BACK) as there:
            await stopped_midway(there)
            visit = there.visit
            visit.record(bodies.StepBegun(step="L1-back"), TESS)
            said = could_not_do(visit.job, visit.job.checklist.step("L1-back"), "brought back from the panel by O.")
            visit.record_all(said, TESS)
            assert off_its_end(visit.job) is None
            ended = await there.run("L4")
            assert ended.how == "finished"
            (result,) = list(visit.job.runs.values())[-1].results
            assert result.verdict == Verdict.NO_TEST
            assert "valve at its start" in result.rule

    run_virtual(main())


def test_a_checklist_without_such_a_step_leads_nowhere(tmp_path: Path) -> None:
    """Then it is local control's, and nothing of the walk is in its way."""

    async def main() -> None:
        earlier = await handed_over(tmp_path)
        async with a_year_later(earlier) as there:
            await stopped_midway(there)
            assert off_its_end(there.visit.job) is not None
            assert step_back(there.visit.job) == ""

    run_virtual(main())


STROKES = f"""{CHECKLIST}
[[steps]]
id = "K1-back"
title = "Bring it back"
state = "live"
moves = true
on_request = true
do = "Count, go."
cautions = ["pinch"]
procedures = [{{ name = "bring_back", arguments = {{ after = "full_stroke" }} }}]
"""


def due_of(there: There) -> str:
    """Id of the step that the walk leads to."""
    step = route.current(there.visit.job)
    assert step is not None
    return step.id


async def cut_short(there: There) -> None:
    """A closing stroke from the open end, stopped at half travel by the stop key."""
    await there.go_live()
    there.conclude("I2")
    there.opened_at_the_panel()
    running = asyncio.get_running_loop().create_task(there.run("K1-close"))
    await there.until_travel(below_pct=60)
    there.visit.stop(TESS, "stop key")
    assert (await running).how == "stopped"


@pytest.mark.long
def test_after_a_full_stroke_was_cut_short_the_walk_leads_to_where_it_began(tmp_path: Path) -> None:
    """Not the same stroke again, which no valve that stands midway can make; then the same stroke, and it counts."""

    async def main() -> None:
        async with visiting(tmp_path, steps=STROKES) as there:
            await cut_short(there)
            assert due_of(there) == "K1-back"
            await there.run("K1-close")  # by somebody who will not be led: nothing is sent, and nothing has changed
            assert not list(there.visit.job.runs.values())[-1].sent
            assert due_of(there) == "K1-back"
            ended = await there.run("K1-back")
            assert ended.how == "finished", ended
            run = there.visit.job.runs["K1-back-1"]
            assert (run.begun.arguments["end"], run.results[0].verdict) == ("open", "pass")
            assert there.unit.desk.read("truth")["open_limit"]
            there.conclude("K1-back")
            assert due_of(there) == "K1-close"
            again = await there.run("K1-close")
            assert again.how == "finished"
            assert list(there.visit.job.runs.values())[-1].results[0].verdict == "pass"

    run_virtual(main())


@pytest.mark.long
def test_brought_back_by_local_control_it_is_only_seen(tmp_path: Path) -> None:
    """Opened at the panel meanwhile: nothing is sent; a full stroke that came to its end leads nowhere."""

    async def main() -> None:
        async with visiting(tmp_path, steps=STROKES) as there:
            await cut_short(there)
            there.opened_at_the_panel()
            await there.run("K1-back")
            run = there.visit.job.runs["K1-back-1"]
            assert not run.sent
            assert run.results[0].rule == "seen at its open end; nothing was sent"
            there.conclude("K1-back")
            await there.run("K1-close")
            assert off_its_end(there.visit.job) is None

    run_virtual(main())


def test_without_a_step_for_full_strokes_nothing_leads_back_after_one(tmp_path: Path) -> None:
    """The step after a partial stroke goes to that one's end, and is none for a full stroke."""

    async def main() -> None:
        async with visiting(tmp_path, steps=STROKES.replace(', arguments = { after = "full_stroke" }', "")) as there:
            await cut_short(there)
            assert off_its_end(there.visit.job) is not None
            assert step_back(there.visit.job) == ""

    run_virtual(main())
