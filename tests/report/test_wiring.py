"""The tables of the wiring proof."""

import msgspec

from commission.analysis.wiring import Finding, PointSeen
from commission.job import bodies
from commission.report.contents import contents
from commission.report.text import as_text
from commission.report.wiring import point_to_point, wiring
from tests.report.jobs import DIGEST, MADE, Visit, eventful_visit

POINTS = (
    PointSeen(role="remote", forced="Turn the selector to LOCAL", seen="selector local or off", finding=Finding.RIGHT),
    PointSeen(
        role="low_fluid",
        forced="Lift the float",
        seen="ESD loop tripped",
        finding=Finding.WRONG_POINT,
        words="ESD loop (discrete 7) changed instead.",
        correction=("low_fluid: address = 7 (the sheet says 5)",),
        again=True,
    ),
)
READ = PointSeen(
    role="low_fluid",
    forced="Lift the float",
    seen="fluid low, 14:02:18 UTC",
    finding=Finding.RIGHT,
    seen_by="Mara Mockford",
    read_back="XV-1101 TROUBLE",
    their_time="14:02:11",
)


def proved(*points: PointSeen, left: tuple[str, ...] = ()) -> Visit:
    """A visit with one run that saw these points."""
    visit = eventful_visit()
    run = next(iter(visit.job.runs))
    visit.add(bodies.PointsProved(run=run, points=points, not_forced=left))
    return visit


def said(visit: Visit) -> str:
    """The report as plain text."""
    found = contents(visit.job, visit.traces, head_digest=DIGEST, events=len(visit.events), interim=True, made_utc=MADE)
    return as_text(found)


def test_each_point_is_a_row_with_what_it_came_to_and_the_lines_below() -> None:
    """What was forced again stays; what is proved elsewhere is said with where."""
    visit = proved(*POINTS, left=("motor: by the command pulses (I3)", "fluid: nothing here operates it"))
    table = wiring(visit.job)
    assert [row[1:] for row in table.rows] == [
        ("Turn the selector to LOCAL", "selector local or off", "as it should be"),
        (
            "Lift the float",
            "ESD loop tripped",
            "another point changed (forced again after this). ESD loop (discrete 7) changed instead.",
        ),
    ]
    assert table.notes == (
        "Lines that would put the sheet right, for its owner to accept: low_fluid: address = 7 (the sheet says 5).",
        "Not forced here: motor: by the command pulses (I3).",
    )
    assert point_to_point(visit.job).rows == ()


def test_point_to_point_has_both_times_and_who_read_what() -> None:
    """Not among the inputs, and the other way round."""
    visit = proved(READ, left=("feedback current: at points up and down (M1, M2)",))
    table = point_to_point(visit.job)
    assert table.rows == (
        (
            "K1-close VOID",
            "Lift the float",
            "fluid low, 14:02:18 UTC",
            "XV-1101 TROUBLE",
            "14:02:11",
            "Mara Mockford",
            "as it should be",
        ),
    )
    assert "compared through the clock offset" in table.notes[0]
    assert table.notes[1] == "Not forced here: feedback current: at points up and down (M1, M2)."
    assert wiring(visit.job).rows == ()


def test_a_loop_that_was_read_again_is_not_taken_for_what_it_was_before() -> None:
    """Its first reading is void and says so; what was read after the adjustment stands without."""
    visit = proved(READ)
    name, run = next(iter(visit.job.runs.items()))
    again = msgspec.structs.replace(run, voided_by="")
    runs = {name: run, "again": again}
    rows = point_to_point(msgspec.structs.replace(visit.job, runs=runs)).rows
    assert [row[0] for row in rows] == ["K1-close VOID", "K1-close"]


def test_both_stand_in_the_text_and_a_visit_without_them_says_nothing() -> None:
    """A table that nobody asked for is no blank."""
    text = said(proved(*POINTS, READ))
    assert "inputs and register map" in text.lower()
    assert "point-to-point with the control room" in text.lower()
    assert "point-to-point" not in said(eventful_visit()).lower()
