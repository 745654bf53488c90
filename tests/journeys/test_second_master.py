"""
A control panel that is a second master (guide 10.4): what connecting, a stroke and the rest of the walk make of it.

On a serial line it is heard and nothing is sent (rule R16). On a network nobody can be heard: there the question is
asked (`tests/rules/test_r16_*`), and what the panel does is seen by what it changes.
"""

import asyncio
import contextlib
from pathlib import Path

import pytest

from commission.checklist import load_checklist
from commission.cli.answers_file import load_answers
from commission.cli.crew import Crew
from commission.content import checklists_folder, read_text
from commission.face.dialogue import Left
from commission.job.playback import open_archive
from commission.link.faults import LineInUse
from commission.report.outcome import outcome
from commission.visit import Visit
from commission.walk import route
from tests.journeys.in_virtual_time import commissioned, practising
from tests.journeys.short_walk import SHEET
from tests.supervise.rig import hold_time_while
from tests.virtual_time import run_virtual, virtual_clock
from tests.visiting import visiting

SCENARIO = "second-master"


def test_r16_a_panel_on_the_serial_line_is_heard_and_nothing_is_sent(tmp_path: Path) -> None:
    """Listened to for 5 s first: what it asks another unit is enough. The visit has no line."""
    folder = checklists_folder()

    async def main() -> None:
        async with practising(SHEET, scenario=SCENARIO, url="rtu://") as unit:
            texts = load_checklist(folder / "commissioning.toml")[1]
            crew = Crew(load_answers(folder / "practice" / SHEET.name)[0], None, tell=lambda _line: None)
            visit = Visit.begin(tmp_path / "a.job", read_text(SHEET), texts, virtual_clock(), crew, "program")
            hold_time_while(lambda: visit._book.recorder.busy)
            try:
                with pytest.raises(LineInUse, match=r"bytes in 5 s, beginning .*Nothing was sent"):
                    await visit.connect(unit.url, other_master="none", agreed_by="Mara Mockford", by="program")
                assert visit.link is None
            finally:
                await visit.close("left")

    run_virtual(main())
    assert open_archive(tmp_path / "a.job").job.contact.connected is None


@pytest.mark.long
def test_a_panel_that_takes_the_valve_in_a_stroke_ends_it(tmp_path: Path) -> None:
    """It goes back before its end: seen against its direction, the stroke is no pass, and the record says why."""

    async def main() -> None:
        async with visiting(tmp_path, speed=20) as there:
            await there.go_live()
            running = asyncio.ensure_future(there.stroke("open"))
            while there.unit.desk.read("truth")["travel_pct"] < 30:
                await there.visit.clock.sleep_wire(0.05)
            there.unit.desk.act("other_master_orders", which="close")
            ended = await running
            assert ended.how == "aborted"
            assert ended.reason.startswith("travel goes back from the open end")
            run = list(there.visit.job.runs.values())[-1]
            assert all(result.verdict != "pass" for result in run.results)

    run_virtual(main())


@pytest.mark.deep
@pytest.mark.timeout(1200)
def test_a_panel_that_changes_a_setting_is_found_before_anything_is_signed(tmp_path: Path) -> None:
    """XV-1101: at nine by its clock the run limit becomes 600 s; read back, it is a failure that nobody accepted."""
    path, told = tmp_path / "XV-1101.job", list[str]()
    with contextlib.suppress(Left):  # nobody has answers for what the panel did: the final stroke is refused
        run_virtual(commissioned(SHEET, path, told, scenario=SCENARIO))
    job = open_archive(path).job
    (ran,) = job.steps["N2"].attempts
    assert ran.verdict == "fail", "the motor ran until the panel's limit, not the sheet's"
    longest = job.runs["N2-1"].results[0]
    assert (longest.verdict, longest.limit_high) == ("fail", "306")
    said = outcome(job, interim=route.current(job) is not None)
    assert not said.words.startswith("ACCEPTED")
