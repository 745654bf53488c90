"""Tests of runs: what was sent in them, how they ended."""

from collections.abc import Mapping

import pytest

from commission.figure import make_figure
from commission.job import bodies
from commission.job.motions import INTERRUPTED, Run, fold_runs, open_run
from tests.energy.way import TESS
from tests.job.told import begun, ended, seen

SENT = bodies.CommandSent(
    run="r1", role="command_close", value=1, at_ns=5, half_width_ns=1, outcome="answered", purpose="procedure"
)
STORED = bodies.SamplesStored(run="r1", chunk="ab", plan="cd", count=20)
GAP = bodies.GapSeen(run="r1", since_ns=1, at_ns=9, reason="no answer")
RESTART = bodies.SessionStarted(program_version="0.1.0", resumed=True)


def folded(*happened: bodies.Body) -> Mapping[str, Run]:
    """The runs after these events."""
    runs: Mapping[str, Run] = {}
    for n, body in enumerate(happened, start=10):
        runs = fold_runs(runs, seen(body, n))
    return runs


def test_a_run_collects_what_happened_in_it() -> None:
    """Commands, chunks, gaps, marks, the guard that fired, its end: each in order."""
    tripped = bodies.GuardTripped(run="r1", guard="gap", reason="no sample", taken_over=False)
    noted = bodies.Noted(run="r1", mark="limit made")
    run = folded(begun(), SENT, SENT, STORED, GAP, noted, tripped, ended())["r1"]
    assert (run.begun, run.by, run.n) == (begun(), TESS, 10)
    assert (run.sent, run.chunks, run.gaps, run.notes) == ((SENT, SENT), (STORED,), (GAP,), ("limit made",))
    assert (run.tripped, run.ended) == (tripped, ended())


def test_figures_and_verdicts_are_added_after_its_end() -> None:
    """What is computed names what timed it and who commanded it (safety rule R19)."""
    figure = make_figure("response_time", 8.05, 0.03, "s", "timing.stroke/1")
    computed = bodies.FiguresComputed(run="r1", figures=(figure,), timed_by="limit switch", commanded_by="laptop")
    decided = bodies.ResultDecided(
        run="r1", step="K1-close", test="t", figure="response_time", verdict="pass", rule="guarded",
        limit_low="6.0", limit_high="10.0", origin="sheet",
    )  # fmt: skip
    run = folded(begun(), ended(), computed, decided)["r1"]
    assert run.figure("response_time") == figure
    assert run.figure("dead_time") is None
    assert (run.timed_by, run.commanded_by, run.results) == ("limit switch", "laptop", (decided,))


def test_a_restart_marks_an_open_run_and_says_what_may_have_been_sent() -> None:
    """After a crash in mid-stroke the job says which commands may be on their way; ended runs are left alone."""
    runs = folded(begun("r0"), ended("r0"), begun(), SENT, RESTART)
    run = runs["r1"]
    assert run.ended is not None
    assert (run.ended.how, run.ended.safe_end) == (INTERRUPTED, "unconfirmed")
    assert "these may have been sent: command_close, command_stop" in run.ended.reason
    assert runs["r0"].ended == ended("r0")
    assert open_run(runs) is None


def test_what_is_found_out_after_a_restart_replaces_the_mark() -> None:
    """The end that a person then reports stands; a second one is refused."""
    later = ended("r1", "stopped")
    assert folded(begun(), RESTART, later)["r1"].ended == later
    with pytest.raises(ValueError, match="r1 has ended before"):
        folded(begun(), RESTART, later, ended("r1"))


def test_one_motion_at_a_time() -> None:
    """A run does not begin while another is open, nor twice under one name."""
    with pytest.raises(ValueError, match="run r1 is still open; one motion at a time"):
        folded(begun(), begun("r2"))
    with pytest.raises(ValueError, match="run r1 has begun before"):
        folded(begun(), ended(), begun())
    runs = folded(begun(), ended(), begun("r2"))
    moving = open_run(runs)
    assert moving is not None
    assert moving.begun.run == "r2"


def test_what_belongs_to_no_run_is_left_to_the_record() -> None:
    """Background samples, and commands outside a procedure, name no run; a run that is not there is an error."""
    background = bodies.SamplesStored(run="", chunk="ab", plan="cd", count=60)
    stop = bodies.CommandSent(
        run="", role="command_stop", value=1, at_ns=5, half_width_ns=1, outcome="answered", purpose="stop"
    )
    assert folded(background, stop) == {}
    with pytest.raises(KeyError):
        folded(SENT)


def test_other_events_leave_the_runs_alone() -> None:
    """The fold gives the very same mapping back."""
    runs = folded(begun())
    assert fold_runs(runs, seen(bodies.StepBegun(step="B1"))) is runs
