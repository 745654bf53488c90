"""Where the baseline expects travel and pressure: true of the practice unit, and drawn under the curves."""

import math
from xml.etree import ElementTree as ET

import msgspec
import pytest

from commission.analysis.baseline import compare
from commission.figure import Figure
from commission.job.motions import Run
from commission.practice.condition import Condition
from commission.report.partial import partial_runs
from commission.report.partial_bands import pressure_bands, travel_bands
from commission.report.plot import TravelBand, stroke_plot
from commission.report.trace import Trace
from tests.analysis.partials import baseline, figures, observed
from tests.report.test_partial import with_run

NARROW = Condition(orifice_factor=0.7)


def stroke(condition: Condition = Condition(), seed: int = 9) -> tuple[Run, Trace]:  # noqa: B008  # frozen
    """A run held against the healthy baseline, and its curve."""
    (known,) = partial_runs(with_run().job)
    found: tuple[Figure, ...] = tuple(figures(condition, seed).values())
    (result,) = known.results
    result = msgspec.structs.replace(result, compared=compare(found, baseline(), 0.2))
    seen = observed(condition, seed)
    assert seen.command is not None
    track = [(r.at_ns - seen.command.at_ns, r.value) for r in seen.track("travel")]
    times, travel = zip(*((at_ns / 1e9, value) for at_ns, value in track if at_ns >= 0), strict=True)
    return msgspec.structs.replace(known, results=(result,), figures=found), Trace("L4-1", times, travel)


def outside(band: TravelBand, trace: Trace) -> float:
    """By how many seconds the curve is past the band at most, between the band's own travels."""
    worst = -math.inf
    for (early_s, pct), (late_s, _) in zip(band.early[1:-1], band.late[1:-1], strict=True):
        outward = band.early[0][1] > band.early[-1][1]
        passed = [
            time
            for time, travel in zip(trace.time_s, trace.travel, strict=True)
            if (100 * travel <= pct if outward else 100 * travel >= pct) and time >= band.early[0][0]
        ]
        worst = max(worst, early_s - passed[0], passed[0] - late_s)
    return worst


def test_pressures_stand_where_the_valve_was_at_that_travel() -> None:
    """Out at the first crossing, back at the last."""
    (run,) = partial_runs(with_run().job)
    trace = Trace(run="L4-1", time_s=(0.0, 5.0, 10.0, 20.0, 30.0), travel=(1.0, 0.95, 0.85, 0.92, 1.0))
    bands = pressure_bands(run, trace)
    assert {band.at_s for band in bands} == {5.0, 10.0, 20.0}
    out = min(bands, key=lambda band: band.at_s)
    assert (out.low_bar, out.high_bar) == pytest.approx((45.3, 55.3), abs=0.3)
    assert pressure_bands(run, Trace(run="L4-1", time_s=())) == ()


def test_a_healthy_stroke_lies_within_its_travel_bands() -> None:
    """Out from the command, back from where it turned; both end where the stroke does."""
    run, trace = stroke()
    out, back = travel_bands(run, trace)
    assert [pct for _, pct in out.early] == pytest.approx([100, 95, 90, 85])
    assert out.early[0][0] < out.late[0][0], "the dead time has a band too"
    assert back.early[0] == back.late[0]
    assert [round(pct) for _, pct in back.early[1:]] == [90, 95, 100]
    assert outside(out, trace) < 0
    assert outside(back, trace) < 0


def test_a_stroke_through_a_narrowed_bleed_leaves_the_band_on_its_way_out() -> None:
    """Guide 3.3: an area a third less takes 14.3 s instead of 10.0; the pump brings it back as ever."""
    run, trace = stroke(NARROW)
    out, back = travel_bands(run, trace)
    assert outside(out, trace) > 0.3
    assert outside(back, trace) < 0


def test_without_a_command_or_a_baseline_no_band_is_invented() -> None:
    """A stroke that was only watched has no dead time; one that is not compared has nothing."""
    run, trace = stroke()
    (result,) = run.results
    watched = tuple(row for row in result.compared if row.figure != "dead_time")
    run_watched = msgspec.structs.replace(run, results=(msgspec.structs.replace(result, compared=watched),))
    (back,) = travel_bands(run_watched, trace)
    assert back.early[-1][1] == pytest.approx(100)
    alone = msgspec.structs.replace(run, results=(msgspec.structs.replace(result, compared=()),))
    assert travel_bands(alone, trace) == ()
    assert travel_bands(run, Trace(run="L4-1", time_s=())) == ()


def test_the_ground_is_drawn_under_the_curves_and_inside_the_frame() -> None:
    """One grey shape a way, before any curve; whatever lies outside the frame is cut at it."""
    run, trace = stroke()
    svg = stroke_plot(trace, None, (), travel_from_pct=75.0, travel_bands=travel_bands(run, trace))
    parts = [part.tag.rpartition("}")[2] for part in ET.fromstring(svg)]  # noqa: S314  # our own text
    assert parts[:2] == ["polygon", "polygon"]
    assert parts.index("path") > 2
    assert all(f">{tick}<" in svg for tick in (75, 80, 85, 90, 95, 100))
    far = TravelBand(early=((-50.0, 300.0), (0.0, 50.0)), late=((500.0, 0.0), (600.0, -10.0)))
    drawn = ET.fromstring(stroke_plot(trace, None, (), travel_bands=(far,)))[0].get("points", "")  # noqa: S314  # as above
    xs, ys = zip(*(map(float, place.split(",")) for place in drawn.split()), strict=True)
    assert (min(xs), max(xs)) == (26.0, 234.0)
    assert (min(ys), max(ys)) == (28.0, 106.0)
