"""Tests of one figure over the visits to a unit."""

from datetime import UTC, datetime, timedelta

import msgspec
import pytest

from commission.figure import make_figure
from commission.job.state import Job
from commission.job.trend import Wanted, first_result, trend_over
from tests.report.jobs import Visit, good_visit

CLOSING = Wanted(figure="response_time", procedure="full_stroke", direction="closed", limit=10.0)


def visits(*seconds: float) -> list[Job]:
    """One job a year, each with one closing stroke of so many seconds."""
    found = []
    for year, time_s in enumerate(seconds):
        job = Visit().people().connect().cross("in operation", "live").stroke("r1", "closed", time_s).job
        begun = datetime(2026, 5, 12, tzinfo=UTC) + timedelta(days=365.25 * year)
        found.append(msgspec.structs.replace(job, begun_utc=begun.isoformat()))
    return found


def test_a_closing_stroke_that_grows_slower_meets_its_limit() -> None:
    """0.4 s a year from 8.0 s: 10 s after five years; told at which visit it may be found there, in any order."""
    trend = trend_over(list(reversed(visits(8.0, 8.41, 8.79, 9.2))), CLOSING)
    assert trend.at_years == pytest.approx((0, 1, 2, 3))
    assert trend.slope is not None
    assert trend.slope.unrounded == pytest.approx(0.4, abs=0.02)
    assert trend.slope.unit == "s/a"
    assert trend.chart is not None
    assert trend.chart.outside == ()
    assert trend.meets is not None
    assert trend.meets.estimate == pytest.approx(5.0, abs=0.2)
    assert trend.meets.next_visit == 2


def test_two_visits_are_a_chart_and_no_trend() -> None:
    """One is neither; none is nothing."""
    two = trend_over(visits(8.0, 8.4), CLOSING)
    assert (two.slope, two.meets) == (None, None)
    assert two.chart is not None
    assert trend_over(visits(8.0), CLOSING).chart is None
    assert trend_over([], CLOSING).figures == ()


def test_the_first_result_counts_though_it_was_made_void() -> None:
    """An adjustment afterwards takes nothing from the evidence; a time that is only "at least" is none."""
    job = visits(8.9)[0]
    run = job.runs["r1"]
    void = msgspec.structs.replace(job, runs={"r1": msgspec.structs.replace(run, voided_by="needle touched")})
    assert first_result(void, CLOSING) == first_result(job, CLOSING)
    late = make_figure("response_time", 14.0, 0.1, "s", "timing.stroke/3", lower_bound_only=True)
    bound = msgspec.structs.replace(job, runs={"r1": msgspec.structs.replace(run, figures=(late,))})
    assert first_result(bound, CLOSING) is None
    assert first_result(job, msgspec.structs.replace(CLOSING, direction="open")) is None


def test_units_are_not_mixed() -> None:
    """Another serial, or practice among real visits."""
    job, other = visits(8.0, 8.1)
    unit = msgspec.structs.replace(other.sheet.identity, serial="EH-1")
    strange = msgspec.structs.replace(other, sheet=msgspec.structs.replace(other.sheet, identity=unit))
    with pytest.raises(ValueError, match="one unit"):
        trend_over([job, strange], CLOSING)
    practised = msgspec.structs.replace(other, contact=msgspec.structs.replace(other.contact, practice=True))
    with pytest.raises(ValueError, match="practice"):
        trend_over([job, practised], CLOSING)


def test_a_whole_visit_has_its_first_stroke() -> None:
    """Of several the first."""
    job = good_visit().job
    figure = first_result(job, CLOSING)
    runs = sorted(
        (run for run in job.runs.values() if run.begun.arguments.get("direction") == "closed"), key=lambda r: r.n
    )
    assert figure == runs[0].figure("response_time")
