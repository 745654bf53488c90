"""Tests of commission.report.contents."""

import re

import msgspec
import pytest

from commission.job import bodies
from commission.report.contents import Contents, contents
from tests.report.jobs import DIGEST, MADE, Visit, eventful_visit, good_visit


def _of(visit: Visit, *, interim: bool = False, chain_signed: str = "") -> Contents:
    return contents(
        visit.job,
        visit.traces,
        head_digest=DIGEST,
        events=len(visit.events),
        interim=interim,
        made_utc=MADE,
        chain_signed=chain_signed,
    )


def _every_text(value: object) -> list[str]:
    if isinstance(value, str):
        return [value]
    if isinstance(value, dict):
        return [text for item in value.values() for text in _every_text(item)]
    if isinstance(value, list | tuple):
        return [text for item in value for text in _every_text(item)]
    return []


def test_identification_names_unit_texts_and_program() -> None:
    """Owner, site, tag, service, serial, firmware, checklist with digest, program version."""
    visit = good_visit()
    named = dict(_of(visit).identification)
    assert named["owner"] == "Fable River Pipeline Company"
    assert named["tag"] == "XV-1101"
    assert named["serial (sheet)"] == "EH-40117"
    assert visit.job.opened.checklist[0].digest[:16] in named["checklist"]
    assert named["program"] == "commission 0.1.0"
    assert "round trip 21 ms" in named["connection"]


def test_marks_are_for_practice_and_drafts() -> None:
    """A real, finished visit carries no mark."""
    assert _of(good_visit()).marks == ()
    assert _of(eventful_visit(), interim=True).marks == ("PRACTICE", "DRAFT")
    assert _of(eventful_visit()).notices[0].startswith("PRACTICE")


def test_shortened_waits_and_the_speed_of_a_practice_unit_are_said() -> None:
    """Times in the record are the practice unit's: how much was skipped, and how fast it ran, in one line."""
    visit = eventful_visit()
    assert _of(visit).notices[1] == (
        "The practice unit's time, which the record keeps, ran 20 times as fast as the clock."
    )
    visit.add(*(bodies.WaitShortened(step="E5", seconds=seconds) for seconds in (300.0, 780.0)), by="program")
    assert _of(visit).notices[1].startswith("2 waits shortened on practice, 18 min in all; the practice unit's time")
    assert _of(good_visit()).notices == ()


def test_verify_is_told_for_the_job_file_alone() -> None:
    """The report is held against the record by its head, because verify reads no PDF."""
    said = _of(good_visit()).verification[0]
    assert said.startswith("With the job file, commission verify FILE")
    assert "at the foot of each page" in said


def test_practice_is_for_good() -> None:
    """Once on a practice unit, a later connection to a real one changes nothing (safety rule R15)."""
    assert _of(eventful_visit().connect()).marks == ("PRACTICE",)


def test_an_unsigned_chain_says_so() -> None:
    """Safety rule R27: a chain without a signature proves neither its end nor its origin."""
    assert any("neither its end nor its origin" in text for text in _of(good_visit()).limits)
    signed = _of(good_visit(), chain_signed="Tess Placeholder, key 4f2a")
    assert not any("neither its end nor its origin" in text for text in signed.limits)
    assert any("key 4f2a" in text for text in signed.limits)


def test_the_report_says_what_it_is_not() -> None:
    """Safety rule R28."""
    assert "not a safety system, not a certificate" in _of(good_visit()).limits[0]


@pytest.mark.parametrize("visit", [good_visit(), eventful_visit()], ids=["good", "eventful"])
def test_no_integrity_level_and_no_claim_anywhere(visit: Visit) -> None:
    """Safety rule R26: no level, no probability of failure, nothing complied with, nothing guaranteed."""
    for text in _every_text(msgspec.to_builtins(_of(visit))):
        assert not re.search(
            r"\bSIL\b|\bPFD|integrity level|certified|compliant|complies|guarantee|proven safe", text, re.IGNORECASE
        )


def test_a_plot_is_made_for_each_direction_with_a_trace() -> None:
    """The run that stands, over the first; marks at command, first motion and end limit."""
    opening, closing = _of(good_visit()).plots
    assert (opening.direction, closing.direction) == ("opening", "closing")
    assert "r6 K1 closed" in closing.caption
    assert "r4 K1 closed for comparison" in closing.caption
    assert all(word in closing.svg for word in ("command", "first motion", "end limit"))


def test_a_run_without_a_trace_is_listed_without_a_plot() -> None:
    """The figures do not depend on curves."""
    visit = good_visit()
    visit.traces.clear()
    found = _of(visit)
    assert found.plots == ()
    assert len(found.strokes[0].judged.rows) == 3


def test_a_job_with_nothing_done_still_has_its_contents() -> None:
    """An empty visit is not finished, and every table says that it is empty."""
    found = _of(Visit(), interim=True)
    assert found.strokes == ()
    assert found.outcome.words.startswith("NOT FINISHED")
    assert dict(found.identification)["connection"] == "never connected"


def test_unknown_kinds_of_event_are_said() -> None:
    """What this program does not know is counted, not hidden."""
    visit = good_visit()
    last = visit.events[-1]
    visit.job = visit.job.after(msgspec.structs.replace(last, n=last.n + 1, kind="photo_taken", need=False, body={}))
    assert _of(visit).notices == ("The record holds 1 event(s) of the unknown kind photo_taken.",)


def test_the_head_is_given_in_full_and_short() -> None:
    """Short code and hex of the same digest, and how many events it closes."""
    found = _of(good_visit())
    assert found.head[1] == DIGEST
    assert any(DIGEST in line and found.head[0] in line for line in found.verification)
