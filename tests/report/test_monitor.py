"""The pressure monitor in the report: every verdict, what was measured beside, the proofs, and page one."""

from commission.analysis.gauge import gauge_of
from commission.analysis.monitor import MonitorReading, MonitorSeen, monitor_figures
from commission.analysis.trip import Side
from commission.analysis.trip_delay import DelaySeen, delay_figures
from commission.analysis.wiring import Finding, PointSeen
from commission.figure import Figure, Verdict
from commission.job import bodies
from commission.report.contents import contents
from commission.report.monitor import is_monitor, noted, proofs, transmitter, trips
from commission.report.pdf import make_pdf
from commission.report.strokes import DIRECTIONS, direction_of, rules_of
from commission.report.text import as_text
from commission.report.wiring import wiring
from tests.analysis.monitors import stretch
from tests.procedures.monitored import GAUGE
from tests.report.jobs import _PLAN, DIGEST, MADE, RULE, Visit, good_visit
from tests.sheet.xv import xv_1101

SHEET = xv_1101()


def ran(visit: Visit, run: str, procedure: str, figures: tuple[Figure, ...], verdict: str, **arguments: str) -> Visit:
    """One run with its figures and verdict."""
    visit.add(
        bodies.MotionBegun(
            run=run,
            step="K1-open",
            procedure=procedure,
            arguments={**arguments, "test": run.replace("-", " ")},
            test=run.replace("-", " "),
            commands={},
            safe_end="send nothing",
            guards=(),
            plan=_PLAN,
        )
    )
    name = figures[0].name if figures else ""
    return visit.add(
        bodies.MotionEnded(run=run, how="finished", reason="", safe_end="not needed"),
        bodies.FiguresComputed(run=run, figures=figures, timed_by="samples over the link", commanded_by="people"),
        bodies.ResultDecided(
            run=run,
            step="K1-open",
            test=run,
            figure=name,
            verdict=verdict,
            rule=RULE if figures else "nothing tripped",
            limit_low="4.5" if figures else "",
            limit_high="5.5" if figures else "",
            origin="sheet's pressure monitor",
        ),
        by="program",
    )


def delay(delay_s: float) -> tuple[Figure, ...]:
    """Of a low trip."""
    seen = stretch(lambda t: 60.0 if t < 2 else 47.0, 9.0, trip_s=2.0 + delay_s, side=Side.LOW)
    return delay_figures(DelaySeen(test="", side=Side.LOW, step=seen), SHEET)


def read() -> tuple[Figure, ...]:
    """Of the transmitter: three points."""
    points = ((0, True), (50, True), (50, False))
    readings = tuple(
        MonitorReading(point_pct=point, up=up, gauge_bar=point, reading_pa=point * 1e5 + 2e4) for point, up in points
    )
    return monitor_figures(MonitorSeen(test="", gauge=gauge_of(GAUGE), readings=readings, wanted=3), SHEET)


def proved(visit: Visit) -> Visit:
    """A latch with one proof that did not hold."""
    ran(visit, "O5-1", "trip_latch", (), Verdict.FAIL, trip="high")
    points = (
        PointSeen(role="alarm_high_trip", forced="normal pressure again", seen="not tripped", finding=Finding.LET_GO,
                  words="It does not latch."),
        PointSeen(role="alarm_high_trip", forced="control power off and on", seen="tripped", finding=Finding.RIGHT),
    )  # fmt: skip
    return visit.add(bodies.PointsProved(run="O5-1", points=points), by="program")


def a_tested_monitor() -> Visit:
    """A delay that failed and was put right, a transmitter, a latch."""
    visit = good_visit()
    ran(visit, "O4-1", "trip_delay", delay(0.5), Verdict.FAIL, trip="low")
    ran(visit, "O4-2", "trip_delay", delay(5.0), Verdict.PASS, trip="low")
    ran(visit, "O2-1", "monitor_points", read(), Verdict.PASS)
    return proved(visit)


def test_every_test_has_a_row_with_limit_and_verdict() -> None:
    """Which trip it was is said; the failure stays in sight after it was put right."""
    job = a_tested_monitor().job
    table = trips(job, rules_of(job))
    assert [row[0] for row in table.rows] == ["O4 1", "O4 2", "O2 1"]
    failed, passed, _ = table.rows
    assert failed[2] == "low trip, delay"
    assert failed[3].startswith("0.5")
    assert failed[4] == "4.5 to 5.5 s"
    assert failed[5] == "fail [1]"
    assert passed[5] == "pass [1]"
    assert "trip point within" in passed[6]


def test_a_run_without_a_figure_says_why() -> None:
    """No blank."""
    visit = ran(good_visit(), "O4-1", "trip_delay", (), Verdict.NO_TEST, trip="low")
    (row,) = trips(visit.job, ()).rows
    assert row[3:5] == ("no figure", "none applied")
    assert "nothing tripped" in row[6]


def test_the_transmitter_stands_point_by_point() -> None:
    """Up beside down; what was not read is said."""
    rows = transmitter(a_tested_monitor().job).rows
    assert [row[0] for row in rows] == ["0 %", "50 %"]
    assert rows[0][2] == "not read"
    assert rows[1][1] == "0.20 ± 0.12 %"
    assert transmitter(good_visit().job).rows == ()


def test_proofs_stand_by_themselves_and_not_among_the_wires() -> None:
    """With what was seen, and what is wrong in words."""
    job = a_tested_monitor().job
    rows = proofs(job).rows
    assert rows[0][1:] == ("normal pressure again", "not tripped", "it did not hold. It does not latch.")
    assert rows[1][3] == "as it should be"
    assert not any("normal pressure" in row[1] for row in wiring(job).rows)


def test_page_one_is_told_what_failed_as_found() -> None:
    """Also where it was put right since."""
    (line,) = noted(a_tested_monitor().job)
    assert line.startswith("as-found failure, low trip, delay: 0.5")
    assert "4.5 to 5.5 s" in line


def test_its_runs_are_no_strokes() -> None:
    """They stand in their own tables."""
    runs = [run for run in a_tested_monitor().job.runs.values() if run.begun.run.startswith("O")]
    assert all(is_monitor(run) and direction_of(run) not in DIRECTIONS for run in runs)


def test_it_stands_in_text_and_on_the_pages() -> None:
    """Both are made of the same contents."""
    visit = a_tested_monitor()
    made = contents(visit.job, {}, head_digest=DIGEST, events=99, interim=False, made_utc=MADE)
    text = as_text(made)
    assert "PRESSURE MONITOR" in text
    assert "THE TRIP'S LATCH AND ITS LOOP" in text
    assert make_pdf(made, b"{}").startswith(b"%PDF")
