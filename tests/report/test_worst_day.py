"""Tests of the worst-day sentence on page one."""

import msgspec

from commission.figure import make_figure
from commission.job import bodies
from commission.report.worst_day import TAKEN, worst_day_sentence
from tests.report.jobs import Visit, good_visit


def live() -> Visit:
    """A visit that is live."""
    return Visit().people().connect().cross("in operation", "live")


def closing(seconds: float, bars: tuple[float, float, float] | None) -> Visit:
    """A closing stroke with its time and, where read, three running pressures."""
    visit = live().stroke("r1", "closed", seconds)
    figures = [make_figure("motion_time", seconds, 0.05, "s", "timing.stroke/2")]
    if bars is not None:
        places = ("25", "50", "75")
        figures += [
            make_figure(f"running_pressure_{place}_pct", bar * 1e5, 1e4, "Pa", "loads.stroke/1")
            for place, bar in zip(places, bars, strict=True)
        ]
    visit.add(bodies.FiguresComputed(run="r1", figures=tuple(figures), timed_by="samples", commanded_by="laptop"))
    return visit


def test_today_carried_to_the_worst_day() -> None:
    """The sheet's own pressures and time: friction 1.00, and the limit is kept."""
    told = worst_day_sentence(closing(8.0, (30.1, 34.2, 41.9)).job)
    assert "friction 1.0" in told
    assert "limit 12 s" in told
    assert "EXCEEDED" not in told
    assert TAKEN in told


def test_a_stroke_that_passes_today_may_not_in_january() -> None:
    """12 bar lower all along, 11 s: friction has doubled, and the worst day stalls."""
    told = worst_day_sentence(closing(11.0, (18.4, 22.2, 30.7)).job)
    assert "STALL" in told


def test_without_pressures_the_time_alone_is_carried() -> None:
    """The friction is then the sheet's, and that is said."""
    assert "friction as the sheet's" in worst_day_sentence(closing(8.0, None).job)


def test_both_directions_of_a_whole_visit() -> None:
    """The last standing run of each."""
    told = worst_day_sentence(good_visit().job)
    assert "opening about" in told
    assert "closing about" in told


def test_nothing_to_carry_is_no_sentence() -> None:
    """No stroke; a stroke that is void; a time that is only at least."""
    assert worst_day_sentence(live().job) == ""
    visit = closing(8.0, None)
    run = msgspec.structs.replace(visit.job.runs["r1"], voided_by="limit cam touched")
    assert worst_day_sentence(msgspec.structs.replace(visit.job, runs={"r1": run})) == ""
    late = make_figure("motion_time", 14.0, 0.1, "s", "timing.stroke/2", lower_bound_only=True)
    run = msgspec.structs.replace(visit.job.runs["r1"], figures=(late,))
    assert worst_day_sentence(msgspec.structs.replace(visit.job, runs={"r1": run})) == ""


def test_a_sheet_that_contradicts_itself_says_nothing() -> None:
    """The as-left report is made all the same."""
    visit = closing(8.0, None)
    odd = msgspec.structs.replace(visit.job.sheet.fluid, viscosity_at_c={"40": 2.5, "20": 2.4})
    sheet = msgspec.structs.replace(visit.job.sheet, fluid=odd)
    assert worst_day_sentence(msgspec.structs.replace(visit.job, sheet=sheet)) == ""
