"""Is a job unaltered, and do its figures recompute? On a whole job of a practice visit, and altered copies of it."""

import asyncio
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import msgspec
import pytest

from commission.job.bodies import SeriesCompared
from commission.job.series import compare
from commission.job.state import Job
from commission.record.errors import RecordError
from commission.record.event import event_from_text
from commission.verify import VERDICT, FigureCheck, Recomputed, check_series, verify_job
from tests.altering import STROKE, altered_text, finished_job, kinds_by_number, rewritten
from tests.report.jobs import good_visit
from tests.virtual_time import run_virtual
from tests.visiting import CHECKLIST, visiting
from tests.walk.visits import good_person

JUDGED = "response_time"


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A finished job."""
    return finished_job(tmp_path)


def check_of(path: Path, figure: str) -> FigureCheck:
    """What recomputing said of one figure of the stroke."""
    found = [check for check in verify_job(path).figures if (check.run, check.figure) == (STROKE, figure)]
    assert len(found) == 1, found
    return found[0]


def test_finished_job_is_unaltered_and_every_figure_is_the_same(job: Path) -> None:
    """Chain intact, nobody's signature, each figure and verdict exactly as stored; pulses are looked at again too."""
    check = verify_job(job)
    assert (check.unaltered, check.recomputes, check.trouble, check.signed) == (True, True, "", False)
    assert {figure.recomputed for figure in check.figures} == {Recomputed.SAME}
    names = {(figure.run, figure.figure) for figure in check.figures}
    assert {(STROKE, JUDGED), (STROKE, VERDICT), ("I2-1", VERDICT)} <= names
    assert len(names) >= 12


@pytest.mark.slow
def test_any_event_altered_is_seen(job: Path, tmp_path: Path) -> None:
    """One character of any event's body: not unaltered, whichever event it is."""
    whole = job.read_bytes()
    for n in kinds_by_number(job):
        copy = tmp_path / "copy.job"
        copy.write_bytes(whole)
        altered_text(copy, n, '"by":"', '"by":"X')
        assert not verify_job(copy).unaltered, n


def test_altered_chunk_is_seen_and_its_figures_cannot_be_recomputed(job: Path) -> None:
    """A byte in the samples: the chain says so, and no figure is passed off as recomputed."""
    with closing(sqlite3.connect(job, isolation_level=None)) as connection:
        digest = next(
            event_from_text(text).body["chunk"]
            for (text,) in connection.execute("SELECT text FROM events ORDER BY n DESC")
            if '"samples_stored"' in text
        )
        key = bytes.fromhex(digest)
        (data,) = connection.execute("SELECT data FROM chunks WHERE digest = ?", (key,)).fetchone()
        spoilt = data[:-1] + bytes((data[-1] ^ 1,))
        connection.execute("UPDATE chunks SET data = ? WHERE digest = ?", (spoilt, key))
    check = verify_job(job)
    assert not check.unaltered
    stroke = [figure for figure in check.figures if figure.run == STROKE]
    assert stroke
    assert {figure.recomputed for figure in stroke} == {Recomputed.CANNOT}


def _figure(name: str, **changes: Any) -> Callable[[dict[str, Any]], None]:
    def change(body: dict[str, Any]) -> None:
        for figure in body["figures"]:
            if figure["name"] == name:
                figure.update(changes)

    return change


@pytest.mark.parametrize(
    ("name", "changes", "recomputed"),
    [
        (JUDGED, {"value": "7.10"}, Recomputed.DIFFERS),
        (JUDGED, {"expanded_uncertainty": "0.90"}, Recomputed.DIFFERS),
        (JUDGED, {"unit": "min"}, Recomputed.DIFFERS),
        (JUDGED, {"lower_bound_only": True}, Recomputed.DIFFERS),
        ("pressure_max", {"note": "all well"}, Recomputed.DIFFERS),
        ("dead_time", {"method": "timing.stroke/0"}, Recomputed.METHOD_CHANGED),
    ],
)
def test_r27_figure_altered_with_the_chain_built_anew_differs(
    job: Path, name: str, changes: dict[str, Any], recomputed: Recomputed
) -> None:
    """Whoever rewrites the whole chain deceives the chain, and the recomputation says so all the same."""
    rewritten(job, "figures_computed", _figure(name, **changes))
    assert verify_job(job).unaltered, "the chain alone proves no origin"
    assert check_of(job, name).recomputed is recomputed
    assert verify_job(job).recomputes is (recomputed is not Recomputed.DIFFERS)


def test_last_digit_is_rounding_and_the_verdict_still_stands(job: Path) -> None:
    """One unit of the last stored place is said as rounding; it fails nothing."""
    stored: dict[str, str] = {}

    def nudge(body: dict[str, Any]) -> None:
        for figure in body["figures"]:
            if figure["name"] == "dead_time":
                stored["value"] = figure["value"]
                last = figure["value"][-1]
                figure["value"] = figure["value"][:-1] + ("8" if last == "9" else str(int(last) + 1))

    rewritten(job, "figures_computed", nudge)
    check = check_of(job, "dead_time")
    assert check.recomputed is Recomputed.WITHIN_ROUNDING
    assert stored["value"] in check.words
    assert verify_job(job).recomputes


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({"verdict": "fail"}, "stored verdict fail, recomputed pass"),
        ({"verdict": "splendid"}, "stored verdict splendid, recomputed pass"),
        ({"limit_high": "20.0"}, "stored limit high 20.0, recomputed 10.0"),
        ({"figure": "dead_time"}, "stored figure dead_time, recomputed response_time"),
        ({"origin": "agreed by telephone"}, "stored origin agreed by telephone"),
    ],
)
def test_altered_verdict_differs(job: Path, facts: dict[str, str], words: str) -> None:
    """Verdict, limits, whose they are, and which figure they mean are recomputed and compared too."""

    def change(body: dict[str, Any]) -> None:
        if body["run"] == STROKE:
            body.update(facts)

    rewritten(job, "result_decided", change)
    check = check_of(job, VERDICT)
    assert check.recomputed is Recomputed.DIFFERS
    assert words in check.words
    assert not verify_job(job).recomputes


def test_pulses_that_did_not_prove_anything_cannot_be_made_to_pass(job: Path) -> None:
    """The verdict of a procedure that only looks is looked at again."""

    def change(body: dict[str, Any]) -> None:
        if body["run"] == "I2-1":
            body["verdict"] = "fail"

    rewritten(job, "result_decided", change)
    checks = [check for check in verify_job(job).figures if check.run == "I2-1"]
    assert [check.recomputed for check in checks] == [Recomputed.DIFFERS]


def test_figure_left_out_or_made_up_differs(job: Path) -> None:
    """A figure that comes out and is not stored, and one that is stored and does not come out."""

    def rename(body: dict[str, Any]) -> None:
        for figure in body["figures"]:
            if figure["name"] == "dead_time":
                figure["name"] = "wishful_time"

    rewritten(job, "figures_computed", rename)
    assert check_of(job, "wishful_time").words == "it does not come out any more"
    assert check_of(job, "dead_time").words == "it is not in the record"


def test_record_of_a_program_that_computed_less_does_not_fail(job: Path) -> None:
    """All figures of one method missing: this program computes more, which is no difference."""

    def without_loads(body: dict[str, Any]) -> None:
        body["figures"] = [figure for figure in body["figures"] if not figure["method"].startswith("loads.")]

    rewritten(job, "figures_computed", without_loads)
    found = check_of(job, "running_pressure_50_pct")
    assert found.recomputed is Recomputed.METHOD_CHANGED
    assert found.words == "this program also computes it, by loads.stroke/1"
    assert verify_job(job).recomputes


def test_figures_of_a_run_that_was_stopped_differ(job: Path) -> None:
    """A stored end that says stopped leaves nothing to compute: figures beside it are made up."""

    def stop(body: dict[str, Any]) -> None:
        if body["run"] == STROKE:
            body["how"] = "stopped"

    rewritten(job, "motion_ended", stop)
    assert check_of(job, JUDGED).recomputed is Recomputed.DIFFERS
    assert check_of(job, VERDICT).recomputed is Recomputed.DIFFERS


def test_changed_samples_change_the_figures(job: Path) -> None:
    """Commands said to have been sent a second later: the response time no longer comes out."""

    def later(body: dict[str, Any]) -> None:
        if body["run"] == STROKE:
            body["at_ns"] += 1_000_000_000

    rewritten(job, "command_sent", later)
    assert check_of(job, JUDGED).recomputed is Recomputed.DIFFERS


def test_reply_that_is_missing_cannot_be_recomputed(job: Path) -> None:
    """The record holds another command than the procedure asks for: said where, and not a difference."""

    def other(body: dict[str, Any]) -> None:
        if body["run"] == STROKE:
            body["role"] = "command_open"

    rewritten(job, "command_sent", other)
    check = check_of(job, JUDGED)
    assert check.recomputed is Recomputed.CANNOT
    assert "holds no command_close at this place" in check.words


def test_procedure_this_program_does_not_have_cannot_be_recomputed(job: Path) -> None:
    """A later program's procedure: said so, no traceback."""
    rewritten(job, "motion_begun", lambda body: body.update(procedure="third_stroke"))
    assert check_of(job, JUDGED).recomputed is Recomputed.CANNOT


@pytest.mark.parametrize(
    ("kind", "facts", "words"),
    [
        ("energy_entered", {"state": "locked"}, "the events make no job"),
        ("motion_ended", {"how": 7}, "the events make no job"),
        ("job_opened", {"checklist": []}, "the events make no job"),
    ],
)
def test_chain_of_events_that_cannot_have_happened_is_trouble(
    job: Path, kind: str, facts: dict[str, object], words: str
) -> None:
    """An intact chain around nonsense is not unaltered, and says why."""
    rewritten(job, kind, lambda body: body.update(facts))
    check = verify_job(job)
    assert words in check.trouble
    assert not check.unaltered


def test_what_is_no_job_is_a_sentence(tmp_path: Path) -> None:
    """Missing, and something else: the record's own kinds of error."""
    with pytest.raises(RecordError):
        verify_job(tmp_path / "none.job")
    (tmp_path / "text.job").write_text("not a job")
    with pytest.raises(RecordError):
        verify_job(tmp_path / "text.job")


def test_stopped_run_is_verified_too(tmp_path: Path) -> None:
    """A run without figures has its verdict compared, whatever the way it ended."""

    async def main() -> None:
        async with visiting(tmp_path, speed=5) as there:
            await there.go_live()
            there.opened_at_the_panel()
            running = asyncio.get_running_loop().create_task(there.stroke("closed"))
            await there.until_travel(below_pct=60)
            there.visit.stop("T", "stop key")
            assert (await running).how == "stopped"

    run_virtual(main())
    check = check_of(tmp_path / "XV-1101.job", VERDICT)
    assert check.recomputed is Recomputed.SAME


@pytest.mark.long
def test_stroke_over_a_paced_serial_line_in_real_time_recomputes(tmp_path: Path) -> None:
    """No virtual time: a pseudo-terminal at the speed of its bytes, a real disk, and every figure the same."""

    async def main() -> None:
        async with visiting(tmp_path, rtu=True, speed=10, real_time=True) as there:
            await there.go_live()
            there.opened_at_the_panel()
            assert (await there.stroke("closed")).how == "finished"

    asyncio.run(main())
    check = verify_job(tmp_path / "XV-1101.job")
    assert check.unaltered
    assert {figure.recomputed for figure in check.figures} == {Recomputed.SAME}
    assert any(figure.figure == JUDGED for figure in check.figures)


WATCH = """
[[steps]]
id = "K9"
title = "Leave it open"
state = "live"
moves = true
do = "Stay outside."
cautions = ["pinch"]
procedures = [{ name = "hold", arguments = { minutes = "0.5", most_restarts = "1", most_change_pct = "1" } }]
"""


def test_a_watch_at_rest_recomputes(tmp_path: Path) -> None:
    """Over a real line: nothing is sent in it, it passes, and every figure is the same to the digit."""

    async def main() -> None:
        async with visiting(tmp_path, steps=CHECKLIST + WATCH) as there:
            await there.go_live()
            there.opened_at_the_panel()
            sent = len(there.visit.job.runs)
            assert (await there.run("K9")).how == "finished"
            run = list(there.visit.job.runs.values())[sent]
            assert run.sent == ()
            assert run.results[0].verdict == "pass"

    run_virtual(main())
    found = verify_job(tmp_path / "XV-1101.job").figures
    assert {check.recomputed for check in found} == {Recomputed.SAME}
    assert {"travel_change_held", "pressure_change_held", "restarts_count"} <= {check.figure for check in found}


def answers_together() -> tuple[Job, SeriesCompared]:
    """A job in which the insulation was measured, and what it is at 40 °C."""
    person = good_person()
    person.walk_step(person.walk_to("F3"))
    job = person.visit.job
    return job, next(series for series in job.compared if series.answers)


def test_figures_from_answers_recompute_and_differ_where_anybody_altered_them() -> None:
    """The same from the answers; a better value, a kinder limit, and answers that nobody gave are found."""
    job, stored = answers_together()
    assert {check.recomputed for check in check_series(job, stored)} == {Recomputed.SAME}
    assert {check.figure for check in check_series(job, stored)} == {"insulation_at_40_c", VERDICT}
    better = msgspec.structs.replace(stored.figures[0], value="900000000")
    found = list(check_series(job, msgspec.structs.replace(stored, figures=(better,))))
    assert found[0].recomputed is Recomputed.DIFFERS
    kinder = msgspec.structs.replace(stored.results[0], limit_low="1")
    found = list(check_series(job, msgspec.structs.replace(stored, results=(kinder,))))
    assert found[-1].recomputed is Recomputed.DIFFERS
    invented = msgspec.structs.replace(stored, answers={**stored.answers, "winding": "90"})
    assert {check.recomputed for check in check_series(job, invented)} == {Recomputed.DIFFERS}
    made_up = msgspec.structs.replace(stored.results[0], figure="wishful")
    found = list(check_series(job, msgspec.structs.replace(stored, results=(made_up,))))
    assert found[-1].recomputed is Recomputed.DIFFERS


def strokes_together() -> tuple[Job, SeriesCompared]:
    """A job with three strokes each way, and what they come to together."""
    job = good_visit().job
    together = compare("K1", tuple(job.runs.values()), job.sheet)
    assert together is not None
    return job, together


def test_strokes_taken_together_recompute_from_the_runs() -> None:
    """Figures and verdicts of the series, each the same."""
    found = list(check_series(*strokes_together()))
    assert {check.recomputed for check in found} == {Recomputed.SAME}
    assert {check.figure for check in found} == {
        "repeatability_opening",
        "repeatability_closing",
        "opening_to_closing_ratio",
        VERDICT,
    }


def test_strokes_taken_together_that_were_altered_differ() -> None:
    """A better repeatability, a kinder verdict, a figure that never was, a run that is not there."""
    job, stored = strokes_together()
    better = msgspec.structs.replace(stored.figures[0], value="0.0001")
    found = list(check_series(job, msgspec.structs.replace(stored, figures=(better, *stored.figures[1:]))))
    assert found[0].recomputed is Recomputed.DIFFERS
    kinder = msgspec.structs.replace(stored.results[0], limit_high="0.5")
    found = list(check_series(job, msgspec.structs.replace(stored, results=(kinder,))))
    assert found[-1].words == "stored limit high 0.5, recomputed 0.05"
    made_up = msgspec.structs.replace(stored.results[0], figure="wishful")
    found = list(check_series(job, msgspec.structs.replace(stored, results=(made_up,))))
    assert found[-1].recomputed is Recomputed.DIFFERS
    gone = msgspec.structs.replace(stored, runs=(*stored.runs, "r99"))
    assert {check.recomputed for check in check_series(job, gone)} == {Recomputed.CANNOT}
