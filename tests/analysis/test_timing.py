"""Figures of a stroke."""

import random

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.analysis.observed import StrokeEnd, StrokeObserved
from commission.analysis.timing import (
    IncompleteStroke,
    NoMotion,
    judged_name,
    predicted_stroke_uncertainty,
    stroke_figures,
    stroke_spread,
)
from commission.figure import Figure
from commission.sample import Outcome, Silence
from commission.sheet import End, Sheet
from commission.sheet.decode import Reading, Readings
from tests.analysis.seen import SHEET, observe
from tests.procedures.strokes import Line, Stroke, samples, with_gap


def by_name(observed: StrokeObserved, sheet: Sheet = SHEET) -> dict[str, Figure]:
    """Figures by name."""
    return {figure.name: figure for figure in stroke_figures(observed, sheet)}


def measured_as(which: str) -> Sheet:
    """The sheet with another meaning of its limits."""
    opening = msgspec.structs.replace(SHEET.strokes.opening, measured_as=which)
    return msgspec.structs.replace(SHEET, strokes=msgspec.structs.replace(SHEET.strokes, opening=opening))


def test_an_opening_stroke_has_all_its_figures() -> None:
    """Times, pressures, current, travel; the judged one first."""
    stroke = Stroke()
    figures = stroke_figures(observe(stroke, Line(), 1), SHEET)
    assert figures[0].name == "response_time"
    assert {figure.name for figure in figures} >= {
        "response_time", "dead_time", "pressure_dead_time", "traverse_time", "motion_time", "motor_run",
        "travel_10_pct_time", "travel_50_pct_time", "travel_90_pct_time",
        "pressure_at_start", "pressure_at_end", "pressure_max", "current_max", "final_travel",
    }  # fmt: skip


def test_each_time_holds_the_truth() -> None:
    """Value ± U holds the true time of each figure, for this seed."""
    stroke = Stroke(opening=False)
    figures = by_name(observe(stroke, Line(), 11))
    truth = {
        "response_time": stroke.home_s - stroke.command_s,
        "traverse_time": stroke.home_s - stroke.left_s,
        "motion_time": stroke.moving_s,
        "dead_time": stroke.dead_s,
    }
    for name, true_s in truth.items():
        assert abs(float(figures[name].value) - true_s) <= float(figures[name].expanded_uncertainty), name


@pytest.mark.parametrize(
    ("which", "name"), [("t6-t0", "response_time"), ("t6-t4", "traverse_time"), ("t7-t3", "motion_time")]
)
def test_the_sheet_says_which_time_its_limit_means(which: str, name: str) -> None:
    """The judged figure comes first, whichever it is."""
    sheet = measured_as(which)
    assert judged_name(sheet, End.OPEN) == name
    assert stroke_figures(observe(Stroke(), Line(), 1), sheet)[0].name == name


@settings(max_examples=20)
@given(st.integers(-(10**12), 10**12))
def test_a_constant_added_to_all_times_changes_no_figure(shift: int) -> None:
    """Only differences of times count: the stored texts are the same to the last digit."""
    observed = observe(Stroke(), Line(), 2)
    assert observed.command is not None
    moved = msgspec.structs.replace(
        observed,
        command=msgspec.structs.replace(observed.command, at_ns=observed.command.at_ns + shift),
        seen=tuple(_shifted(item, shift) for item in observed.seen),
    )
    times = {"response_time", "traverse_time", "pressure_dead_time"}
    plain, later = by_name(observed), by_name(moved)
    for name in times:
        assert (later[name].value, later[name].expanded_uncertainty) == (
            plain[name].value,
            plain[name].expanded_uncertainty,
        )
    assert later["motion_time"].unrounded == pytest.approx(plain["motion_time"].unrounded, abs=1e-6)


def test_the_same_record_gives_the_same_figures() -> None:
    """Nothing but the arguments goes in."""
    observed = observe(Stroke(), Line(), 3)
    assert stroke_figures(observed, SHEET) == stroke_figures(observed, SHEET)


@given(st.floats(0.01, 1.0), st.floats(1.0, 3.0), st.floats(0, 0.05), st.floats(0, 0.1))
def test_uncertainty_grows_with_the_period(period: float, factor: float, half: float, scan: float) -> None:
    """Slower polling never times better."""
    assert predicted_stroke_uncertainty(period * factor, half, scan) >= predicted_stroke_uncertainty(period, half, scan)


def test_the_prediction_is_what_comes_out() -> None:
    """What is promised before the movement is what the figure then carries, within a tenth."""
    line = Line(jitter_s=0.0)
    for which, name in (("t6-t0", "response_time"), ("t6-t4", "traverse_time")):
        promised = predicted_stroke_uncertainty(line.period_s, line.half_width_s, line.scan_s, which)
        figure = by_name(observe(Stroke(), line, 5))[name]
        assert float(figure.expanded_uncertainty) == pytest.approx(promised, rel=0.1)


def test_r19_a_stroke_without_its_t0_is_at_least_so_long() -> None:
    """Nobody timed the command: the response is a lower bound and says why."""
    found = by_name(msgspec.structs.replace(observe(Stroke(), Line(), 6), command=None))
    assert found["response_time"].lower_bound_only
    assert "at least" in found["response_time"].note
    assert not found["traverse_time"].lower_bound_only
    assert "dead_time" not in found


def test_r19_a_gap_over_the_end_is_said_with_its_width() -> None:
    """Between last seen moving and first seen home, and as unsure as the gap is long."""
    stroke, line = Stroke(), Line()
    seen = with_gap(list(samples(stroke, line, random.Random(8))), stroke.home_s - 0.6, stroke.home_s + 0.7)
    response = by_name(observe(stroke, line, 8, tuple(seen)))["response_time"]
    assert "between last seen moving and first seen home" in response.note
    assert 0.5 < float(response.expanded_uncertainty) < 0.75
    true_s = stroke.home_s - stroke.command_s
    assert abs(float(response.value) - true_s) <= float(response.expanded_uncertainty)


def test_a_time_out_is_at_least_so_long() -> None:
    """The end limit never made: the judged time is a lower bound, below the truth."""
    stroke = Stroke(moving_s=60.0, last_s=20.0)
    observed = msgspec.structs.replace(observe(stroke, Line(), 9), ended=StrokeEnd.TIMED_OUT)
    response = stroke_figures(observed, SHEET)[0]
    assert (response.name, response.lower_bound_only) == ("response_time", True)
    assert response.note == "end limit not made: at least this"
    assert 18.3 < response.unrounded < 18.6 < stroke.home_s - stroke.command_s


def test_a_time_out_without_motion_says_so() -> None:
    """Commanded and answered, and nothing moved for the whole time-out."""
    stroke = Stroke(dead_s=100.0, last_s=20.0)
    observed = msgspec.structs.replace(observe(stroke, Line(), 9), ended=StrokeEnd.TIMED_OUT)
    assert "no motion seen" in stroke_figures(observed, SHEET)[0].note


@pytest.mark.parametrize("ended", [StrokeEnd.NOT_READY, StrokeEnd.REFUSED, StrokeEnd.NO_MOTION])
def test_no_stroke_has_no_figures(ended: StrokeEnd) -> None:
    """Nothing was moved, so nothing is timed; the words say why."""
    observed = msgspec.structs.replace(observe(Stroke(), Line(), 1), ended=ended, why="selector in local")
    with pytest.raises(NoMotion, match="K1 open 1: selector in local"):
        stroke_figures(observed, SHEET)


def test_a_judged_time_that_cannot_be_had_is_named() -> None:
    """Motion time on a unit without travel: the message says what was missing."""
    observed = observe(Stroke(), Line(), 1)
    blind = tuple(
        Readings(item.number, item.at_ns, {role: r for role, r in item.by_role.items() if role != "travel"})
        for item in observed.seen
        if isinstance(item, Readings)
    )
    with pytest.raises(IncompleteStroke, match=r"motion_time needs first motion \(t3\) and the end of motion"):
        stroke_figures(msgspec.structs.replace(observed, seen=blind), measured_as("t7-t3"))


def test_nothing_seen_and_nothing_commanded_is_incomplete() -> None:
    """Without limit readings and command there is no time at all."""
    observed = msgspec.structs.replace(observe(Stroke(), Line(), 1), command=None, seen=())
    with pytest.raises(IncompleteStroke, match="no start of it is known"):
        stroke_figures(observed, SHEET)


def test_an_unanswered_command_is_said_beside_its_time() -> None:
    """The note stands with the response time."""
    observed = observe(Stroke(), Line(), 1)
    assert observed.command is not None
    command = msgspec.structs.replace(observed.command, outcome=Outcome.UNANSWERED)
    found = by_name(msgspec.structs.replace(observed, command=command))
    assert found["response_time"].note == "the command was not answered"


def test_pressure_steady_before_the_limit_has_no_time_after_it() -> None:
    """The synthetic pressure is steady from first motion on: no figure, rather than a negative one."""
    assert "pressure_steady_after" not in by_name(observe(Stroke(), Line(), 1))


def test_a_chattering_limit_is_said_beside_its_times() -> None:
    """A loose end limit makes twice: the first counts, and the note says so."""
    observed = observe(Stroke(), Line(), 7)
    items = [item for item in observed.seen if isinstance(item, Readings)]
    late = items[-5]
    dropped = Reading(0.0, late.at_ns, late["open_limit"].half_width_ns)
    items[-5] = Readings(late.number, late.at_ns, {**late.by_role, "open_limit": dropped})
    found = by_name(msgspec.structs.replace(observed, seen=tuple(items)))
    assert found["response_time"].note == "the end limit made 2 times; the first is counted"


def test_spread_of_three_strokes() -> None:
    """Largest departure from the mean, as a fraction of it."""
    assert stroke_spread((7.6, 8.0, 8.4)) == pytest.approx(0.05)
    with pytest.raises(ValueError, match="two strokes"):
        stroke_spread((8.0,))


def _shifted(item: Readings | Silence, shift: int) -> Readings | Silence:
    if isinstance(item, Silence):
        return item
    by_role = {role: Reading(r.value, r.at_ns + shift, r.half_width_ns) for role, r in item.by_role.items()}
    return Readings(item.number, item.at_ns + shift, by_role)


def test_an_opening_stroke_says_what_it_took_from_the_battery() -> None:
    """20 A from a fifth of a second after the command to half a second after the end of travel, in ampere-hours."""
    stroke = Stroke()
    charge = by_name(observe(stroke, Line(), 1))["charge_drawn"]
    true_ah = 20 * (stroke.end_s + 0.5 - (stroke.start_s - 0.6 * stroke.dead_s)) / 3600
    assert abs(charge.unrounded - true_ah) <= float(charge.expanded_uncertainty)
    assert charge.unit == "A·h"
    assert "charge_drawn" not in by_name(observe(Stroke(opening=False), Line(), 1))


def test_every_time_carries_the_lines_it_is_made_of() -> None:
    """From the command its own moment; to an edge poll, scan and the readings' times; to a fit its noise."""
    figures = by_name(observe(Stroke(), Line(), 1))
    response = [line.name for line in figures["response_time"].budget]
    assert response == [
        "start: when the command arrived",
        "end: time between two readings",
        "end: the unit's scan",
        "end: times of the readings",
    ]
    assert figures["motion_time"].budget[-1].name == "end: noise of travel"
    for name in ("response_time", "traverse_time"):
        combined = sum(float(line.contribution) ** 2 for line in figures[name].budget) ** 0.5
        assert 1.6 * combined <= float(figures[name].expanded_uncertainty) <= 2 * combined
