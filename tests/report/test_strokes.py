"""Tests of commission.report.strokes."""

import msgspec
import pytest

from commission.job import bodies
from commission.procedures.span_plan import SPAN
from commission.report.strokes import (
    CLOSING,
    FAIL_SAFE,
    NOT_OBSERVED,
    OPENING,
    OTHER,
    PARTIAL,
    Strokes,
    by_direction,
    direction_of,
    is_observed,
    noted,
    rules_of,
    strokes,
)
from tests.report.jobs import Visit, eventful_visit, good_visit


def _rows(visit: Visit, direction: str) -> list[dict[str, str]]:
    table = _of(visit, direction).judged
    return [dict(zip(table.columns, row, strict=True)) for row in table.rows]


def _of(visit: Visit, direction: str) -> Strokes:
    return next(found for found in strokes(visit.job) if found.direction == direction)


def _live() -> Visit:
    return Visit().people().connect().cross("in operation", "live")


def test_runs_stand_under_their_direction_in_order() -> None:
    """Three opening runs, then three closing ones."""
    found = {name: [run.begun.run for run in runs] for name, runs in by_direction(good_visit().job).items()}
    assert found == {OPENING: ["r1", "r2", "r3"], CLOSING: ["r4", "r5", "r6"]}


@pytest.mark.parametrize(
    ("procedure", "arguments", "commands", "direction"),
    [
        pytest.param("full_stroke", {"direction": "closed"}, {}, CLOSING, id="by argument"),
        pytest.param("full_stroke", {}, {"command_open": 1}, OPENING, id="by its one command"),
        pytest.param("partial_stroke", {"direction": "closed"}, {}, PARTIAL, id="partial"),
        pytest.param("prove_commands", {}, {}, OTHER, id="neither"),
        pytest.param("fail_safe", {"cause": "ESD"}, {}, FAIL_SAFE, id="caused elsewhere"),
        pytest.param("brought", {"end": "away"}, {}, FAIL_SAFE, id="brought there for it"),
        pytest.param("span", {"signal": "feedback"}, {"command_open": 1, "command_stop": 1}, SPAN, id="a loop"),
    ],
)
def test_direction_of_a_run(
    procedure: str, arguments: dict[str, str], commands: dict[str, int], direction: str
) -> None:
    """The procedure's own argument decides; what it may command is second."""
    visit = _live().begin("r1", "open")
    run = visit.job.runs["r1"]
    begun = msgspec.structs.replace(run.begun, procedure=procedure, arguments=arguments, commands=commands)
    assert direction_of(msgspec.structs.replace(run, begun=begun)) == direction


def test_limit_value_verdict_timer_and_commander_stand_side_by_side() -> None:
    """One row says all that the judgement rests on (safety rule R19)."""
    row = _rows(good_visit(), CLOSING)[0]
    assert row["expected"] == "8 s"
    assert row["limit"] == "6.0 to 10.0 s"
    assert row["measured (95 %)"] == "8.052 ± 0.062 s"
    assert row["verdict"] == "pass [1]"
    assert row["timed by"] == "samples over the link, t0 to t6"
    assert row["commanded by"] == "laptop"
    assert _of(good_visit(), CLOSING).expected.endswith("limits: sheet revision D, empty line")


def test_first_and_last_are_marked() -> None:
    """The first result stands, the last one is as-left."""
    assert [row["at"].partition(", ")[2] for row in _rows(good_visit(), CLOSING)] == ["first", "", "as-left"]


def test_the_as_found_run_is_marked_and_a_failure_of_it_noted() -> None:
    """A failure found by the test is said also when it was put right (safety rule R21)."""
    visit = eventful_visit()
    assert _rows(visit, CLOSING)[0]["at"].endswith("as-found")
    assert noted(visit.job) == ("as-found failure, closing: 12.610 ± 0.062 s against 6.0 to 10.0 s (run r1 K1 closed)",)


def test_a_void_run_says_what_made_it_so() -> None:
    """The old verdict is still legible."""
    row = _rows(eventful_visit(), CLOSING)[0]
    assert row["verdict"] == "void, repeat (was fail) [1]"
    assert "cam screw tightened" in row["remarks"]


def test_an_interrupted_run_is_shown_with_what_may_have_been_sent() -> None:
    """A crash in mid-stroke is a row of its own, and nothing after it is called as-left."""
    rows = _rows(eventful_visit(), CLOSING)
    assert rows[2]["verdict"] == "no verdict"
    assert "interrupted" in rows[2]["remarks"]
    assert "may have been sent: command_close" in rows[2]["remarks"]
    assert "1 gap(s)" in rows[2]["remarks"]
    assert not any("as-left" in row["at"] for row in rows)


def test_an_open_run_says_that_its_end_is_not_recorded() -> None:
    """Printed in mid-stroke, the report does not pretend that it ended."""
    assert "end is not recorded" in _rows(_live().begin("r1", "closed"), CLOSING)[0]["remarks"]


def test_not_decided_says_what_would_settle_it() -> None:
    """Inside the guard band the reader learns what to do."""
    row = _rows(eventful_visit(), CLOSING)[1]
    assert row["verdict"] == "not decided [1]"
    assert "U of 0.02 s or less" in row["remarks"]


def test_a_pass_whose_stem_nobody_saw_says_so() -> None:
    """Safety rule R20: pass at the actuator; valve not observed, in the row and on page one."""
    visit = _live().stroke("r1", "closed", 8.0).stroke("r2", "open", 146.0).look("open")
    assert _rows(visit, CLOSING)[0]["verdict"] == f"pass {NOT_OBSERVED} [1]"
    assert _rows(visit, OPENING)[0]["verdict"] == "pass [1]"
    assert noted(visit.job) == ("closing: pass at the actuator; valve not observed",)
    assert "not observed" in _of(visit, CLOSING).observed
    assert _of(visit, OPENING).observed == "Stem mark seen: closed at the start, open at the end"


def test_a_look_at_one_end_only_is_no_look() -> None:
    """Both ends are named, or it does not count."""
    visit = _live().stroke("r1", "closed", 8.0)
    visit.add(bodies.StemLookedAt(direction="closed", start_mark="open", end_mark=""))
    assert not is_observed(visit.job, CLOSING)


def test_a_failure_is_not_softened_by_a_look() -> None:
    """Only passes carry the words of rule R20."""
    assert _rows(_live().stroke("r1", "closed", 12.6, "fail"), CLOSING)[0]["verdict"] == "fail [1]"


def test_a_run_stopped_by_a_guard_names_it() -> None:
    """Who or what stopped it, and how it was made safe."""
    visit = _live().begin("r1", "closed")
    visit.add(
        bodies.GuardTripped(run="r1", guard="remote", reason="selector is no longer in remote", taken_over=True),
        bodies.MotionEnded(run="r1", how="aborted", reason="selector", safe_end="withheld"),
    )
    remarks = _rows(visit, CLOSING)[0]["remarks"]
    assert "aborted: selector; safe end withheld" in remarks
    assert "abort condition: selector is no longer in remote" in remarks


def test_a_run_stopped_before_motion_is_no_test() -> None:
    """It is neither a pass nor a fail."""
    visit = _live().begin("r1", "closed")
    visit.add(bodies.MotionEnded(run="r1", how="no test", reason="refused", safe_end="not needed"))
    assert _rows(visit, CLOSING)[0]["verdict"] == "no test (stopped before motion)"


def test_the_sheet_is_quoted_with_the_time_it_means() -> None:
    """A limit says from which moment to which it counts."""
    assert _of(good_visit(), CLOSING).expected.startswith("Sheet: 8 s expected, from command to end limit (t6 − t0)")


def test_limits_of_several_origins_keep_theirs_in_the_row() -> None:
    """One origin is said once above; of two, each row says its own."""
    visit = _live().stroke("r1", "closed", 8.0)
    decided = visit.job.runs["r1"].results[0]
    visit.begin("r2", "closed")
    visit.add(bodies.FiguresComputed(run="r2", figures=visit.job.runs["r1"].figures, timed_by="", commanded_by=""))
    visit.add(msgspec.structs.replace(decided, run="r2", origin="site rule 7"))
    assert [row["limit"] for row in _rows(visit, CLOSING)] == [
        "6.0 to 10.0 s (sheet revision D, empty line)",
        "6.0 to 10.0 s (site rule 7)",
    ]
    assert "limits:" not in _of(visit, CLOSING).expected


def test_progress_is_no_remark_and_no_remark_no_column() -> None:
    """That the valve was moving is of use to who watches; what a procedure saw is of use to who reads."""
    visit = _live().stroke("r1", "closed", 8.0).add(bodies.Noted(run="r1", mark="moving"), by="program")
    assert "remarks" not in _rows(visit, CLOSING)[0]
    visit.add(bodies.Noted(run="r1", mark="end limit made twice"), by="program")
    assert _rows(visit, CLOSING)[0]["remarks"] == "end limit made twice"


def test_what_followed_a_fail_safe_stroke_is_a_remark_and_what_was_called_out_is_none() -> None:
    """Each act's own sentence stands beside the time; the calls to the people at the valve do not."""
    visit = _live().begin("r1", "closed")
    run = visit.job.runs["r1"]
    notes = (
        "WAITING: press it",
        "caused",
        "stem mark at closed",
        "reset: nothing moved (watched 5 s)",
        "NOW: press it",
    )
    begun = msgspec.structs.replace(run.begun, procedure="fail_safe", arguments={"cause": "ESD"})
    runs = {"r1": msgspec.structs.replace(run, begun=begun, notes=notes)}
    (shown,) = strokes(msgspec.structs.replace(visit.job, runs=runs))
    assert shown.heading == "Fail-safe strokes, caused by people and watched"
    said = " ".join(" ".join(row) for row in shown.judged.rows)
    assert "stem mark at closed; reset: nothing moved (watched 5 s)" in said
    assert "press it" not in said


def test_pulses_without_a_figure_say_once_what_was_seen() -> None:
    """Their words are no decision rule, their notes no second copy of them, and there is no limit to show."""
    visit = _live()
    visit.begin("I3-commands-1", "open")
    run = visit.job.runs["I3-commands-1"]
    begun = msgspec.structs.replace(run.begun, run="p1", procedure="pulse", arguments={}, commands={})
    words = "command open closed the motor contactor"
    visit.add(
        bodies.MotionEnded(run="I3-commands-1", how="finished", reason="", safe_end="confirmed"),
        begun,
        bodies.Noted(run="p1", mark="command_open: closed the motor contactor"),
        bodies.MotionEnded(run="p1", how="finished", reason="", safe_end="confirmed"),
        bodies.ResultDecided(
            run="p1",
            step="I3",
            test="I3",
            figure="",
            verdict="pass",
            rule=words,
            limit_low="",
            limit_high="",
            origin="",
        ),
    )
    (row,) = _rows(visit, OTHER)
    assert (row["verdict"], row["remarks"]) == ("pass", words)
    assert "limit" not in row
    assert words not in rules_of(visit.job)
    assert _of(visit, OTHER).heading == "Other runs"
