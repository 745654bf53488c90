"""The movement budget: counted from what was seen, and what could not be brought back is refused."""

from datetime import datetime, timedelta

import msgspec
import pytest

from commission.content import checklists_folder
from commission.job import bodies
from commission.job.survey import Surveyed
from commission.sheet import load_sheet
from commission.walk import gate
from commission.walk.budget import budget, refusal
from tests.report.jobs import CHECKLIST, Visit

UNITS = checklists_folder() / "units"


def starts(visit: Visit, count: int, *, apart_s: float = 300.0, run_s: float = 60.0) -> Visit:
    """The motor starts so many times, each seen within 40 ms, and stops again; the last stop is now."""
    visit.at += timedelta(seconds=count * apart_s)
    for number in range(count):
        now_ns = len(visit.events) * 1_000_000  # `Visit` records an event each millisecond of unit time
        ago_s = (count - 1 - number) * apart_s
        for to, before_s in ((1, ago_s + run_s), (0, ago_s)):
            at_ns = now_ns - round(before_s * 1e9)
            change = {"motor_running": (1 - to, to)}
            visit.add(bodies.BitsChanged(run="", changes=change, after_ns=at_ns, by_ns=at_ns + 40_000_000), by="unit")
    return visit


def now(visit: Visit) -> datetime:
    """UTC of the last event."""
    return visit.at


def test_starts_in_the_window_are_counted_and_the_motor_timed() -> None:
    """Two starts of six in the last hour, a minute each."""
    visit = starts(Visit(), 2)
    found = budget(visit.job, now(visit))
    assert found.starts is not None
    assert (found.starts.count, found.starts.left, found.allowed) == (2, 4, 6)
    assert found.motor_s == pytest.approx(120, abs=45)
    assert found.line.startswith("4 of 6 starts left in 60 min; motor 300 s a run, ")


def test_an_old_start_has_left_the_window() -> None:
    """An hour later all six are there again."""
    visit = starts(Visit(), 2)
    found = budget(visit.job, now(visit) + timedelta(hours=1, minutes=1))
    assert found.starts is not None
    assert found.starts.left == 6


def test_setting_read_from_the_unit_beats_the_sheet() -> None:
    """Somebody lowered the starts allowed to three, in a window of half an hour."""
    visit = starts(Visit(), 2)
    values = {"starts_allowed": 3.0, "starts_window": 1800.0, "run_limit": 120.0}
    job = msgspec.structs.replace(visit.job, surveyed=Surveyed(values=values, at_utc=visit.job.last_utc))
    assert budget(job, now(visit)).line.startswith("1 of 3 starts left in 30 min; motor 120 s a run")


def test_charge_permit_and_stored_strokes_are_on_the_line() -> None:
    """A battery unit says its ampere hours; one whose accumulator drives an emergency stroke says how many."""
    visit = starts(Visit().people(), 2)
    found = budget(visit.job, now(visit))
    assert found.left_ah == pytest.approx(230 * 0.8 * 0.75 - 19.6 * found.motor_s / 3600)
    assert "Ah of a full battery" in found.line
    assert f"permit {found.permit_min} min" in found.line
    ended = msgspec.structs.replace(found, permit_min=-3)
    assert ended.line.endswith("; permit ended")
    last_minute = msgspec.structs.replace(found, permit_min=0)
    assert last_minute.line.endswith("; permit 0 min")
    sheet, _ = load_sheet(UNITS / "fcv-2204.toml")
    stored = budget(msgspec.structs.replace(visit.job, sheet=sheet), now(visit))
    assert stored.stored_strokes is not None
    assert stored.stored_strokes >= 1
    assert "stored stroke" in stored.line


def test_stroke_that_could_not_be_brought_back_is_refused_with_the_wait() -> None:
    """Six starts of six: the unit itself would refuse the seventh, and the valve would stay where it is."""
    visit = starts(Visit(), 6)
    step = visit.job.checklist.step("K1-close")
    refused = refusal(visit.job, step, now(visit))
    assert refused is not None
    assert "could not be brought back" in refused.reason
    assert 0 < refused.wait_s < 3600
    later = now(visit) + timedelta(seconds=refused.wait_s + 1)
    assert refusal(visit.job, step, later) is None


def test_what_moves_nothing_is_not_refused() -> None:
    """A question about a plate needs no motor."""
    visit = starts(Visit(), 6)
    assert refusal(visit.job, visit.job.checklist.step("B4"), now(visit)) is None


CLOSED_OUT = (
    CHECKLIST.replace(
        '{ id = "N", name = "protections" }', '{ id = "N", name = "protections" }, { id = "Q", name = "close-out" }'
    )
    + """
[[steps]]
id = "Q1"
title = "Read the settings"
state = "live"
do = "Read."
cautions = ["pinch"]
questions = [{ id = "read", ask = "What is set" }]
"""
)


def live(checklist: str) -> Visit:
    """A visit that is live, with the permit and the line that a step there needs."""
    visit = Visit(checklist=checklist).people().connect()
    return visit.cross("in operation", "locked", "control", "live")


def test_meanwhile_something_is_done_that_moves_nothing() -> None:
    """While the motor rests the walk takes a live step that moves nothing; never a stroke."""
    visit = live(CLOSED_OUT)
    other = gate.meanwhile(visit.job, now(visit))
    assert other is not None
    assert other.id == "N1"


def test_close_out_is_never_taken_out_of_its_order() -> None:
    """What is read last is said of all that came before it: with nothing else left, one waits."""
    visit = live(CLOSED_OUT)
    visit.step("N1", acts="pump stops")
    assert gate.meanwhile(visit.job, now(visit)) is None
