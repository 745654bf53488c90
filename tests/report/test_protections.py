"""Protections in the report: cause, limit, unit, control room with witness and time, verdict."""

from commission.analysis.protection import ProtectionSeen, protection_figures
from commission.analysis.wiring import Finding, PointSeen
from commission.figure import Figure, Verdict
from commission.job import bodies
from commission.report.contents import contents
from commission.report.pdf import make_pdf
from commission.report.protections import is_protection, protections
from commission.report.strokes import DIRECTIONS, direction_of
from commission.report.text import as_text
from commission.report.wiring import wiring
from tests.analysis.test_protection import samples, seen
from tests.report.jobs import DIGEST, MADE, Visit, good_visit
from tests.report.test_monitor import ran
from tests.sheet.xv import xv_1101


def proved(visit: Visit, run: str, known: ProtectionSeen, figures: tuple[Figure, ...], verdict: str) -> Visit:
    """One protection that was run."""
    ran(visit, run, "protection_timed" if figures else "protection", figures, verdict, which=known.which)
    return visit.add(bodies.PointsProved(run=run, points=known.proved().points), by="program")


def tried_protections() -> Visit:
    """Low fluid, a run limit that was wrong, and the contact without power."""
    visit = good_visit()
    room = {"room_text": "XV-1101 TROUBLE", "room_time": "14:02:11", "witness": "Mara Mockford"}
    low = seen("low_fluid", (), returned="went with its cause", **room)
    proved(visit, "N1-1", low, (), Verdict.PASS)
    before = samples(70.0, motor_running=((5.0, 65.0),), alarm_run_time=((65.0, 99.0),))
    limit = seen("run_limit", before, **room)
    proved(visit, "N2-1", limit, protection_figures(limit, xv_1101()), Verdict.FAIL)
    ran(visit, "N8-1", "alarm_contact", (), Verdict.FAIL)
    point = PointSeen(role="alarm_relay", forced="alarm contact, power off", seen="24 V", finding=Finding.INVERTED,
                      words="It looks healthy.")  # fmt: skip
    return visit.add(bodies.PointsProved(run="N8-1", points=(point,)), by="program")


def test_each_has_its_cause_its_figure_and_who_saw_it_when() -> None:
    """Both sides in a row."""
    low, limit, contact = protections(tried_protections().job).rows
    assert low[2].startswith("low fluid: caused")
    assert low[3] == "acts at once"
    assert low[5] == "XV-1101 TROUBLE, 14:02:11, Mara Mockford"
    assert low[6] == "pass"
    assert limit[3].startswith("60.0")
    assert "limit 4.5 to 5.5 s" in limit[3]
    assert limit[6].startswith("fail")
    assert contact[4] == "24 V"
    assert contact[6] == "wrong sense. It looks healthy."


def test_they_stand_nowhere_else() -> None:
    """Not among wires, not among strokes."""
    job = tried_protections().job
    assert not any("low fluid" in row[1] for row in wiring(job).rows)
    runs = [run for run in job.runs.values() if run.begun.run.startswith("N")]
    assert runs
    assert all(is_protection(run) and direction_of(run) not in DIRECTIONS for run in runs)
    assert protections(good_visit().job).rows == ()


def test_they_are_in_text_and_on_the_pages() -> None:
    """Of the same contents."""
    made = contents(tried_protections().job, {}, head_digest=DIGEST, events=99, interim=False, made_utc=MADE)
    assert "PROTECTIONS" in as_text(made)
    assert make_pdf(made, b"{}").startswith(b"%PDF")
