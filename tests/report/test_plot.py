"""Tests of commission.report.plot."""

import math
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.report.plot import MOST_POINTS, Mark, stroke_plot, thinned
from commission.report.trace import Trace
from tests.report.jobs import stroke_trace

_SVG = "{http://www.w3.org/2000/svg}"


def _paths(svg: str) -> list[ET.Element]:
    return list(ET.fromstring(svg).iter(f"{_SVG}path"))  # noqa: S314  # made by the function under test


def _words(svg: str) -> list[str]:
    return [text.text or "" for text in ET.fromstring(svg).iter(f"{_SVG}text")]  # noqa: S314  # as above


def test_curves_differ_by_line_and_carry_their_names() -> None:
    """Solid travel, dashed pressure, dotted comparison: legible without colour."""
    svg = stroke_plot(stroke_trace("r2", "closed", 8.0), stroke_trace("r1", "closed", 12.0), ())
    assert len({path.get("stroke-dasharray", "") for path in _paths(svg)}) == 3
    assert {"travel, r1", "travel, r2", "pressure, r2"} <= set(_words(svg))
    assert set(re.findall(r'(?:stroke|fill)="(#[0-9a-f]+)"', svg)) <= {"#000", "#fff", "#777"}


def test_axes_are_named_with_their_units() -> None:
    """Percent, bar and seconds stand at the axes."""
    words = _words(stroke_plot(stroke_trace("r1", "closed", 8.0), None, ()))
    assert {"travel %", "pressure bar", "seconds since the command", "0", "100"} <= set(words)


def test_moments_are_marked_inside_the_time_axis_only() -> None:
    """A mark beyond the curve is not drawn at a place that would be wrong."""
    marks = (Mark(0.0, "command"), Mark(8.0, "end limit"), Mark(99.0, "never"))
    words = _words(stroke_plot(stroke_trace("r1", "closed", 8.0), None, marks))
    assert {"command", "end limit"} <= set(words)
    assert "never" not in words


def test_travel_ends_where_the_scale_says() -> None:
    """A curve from open to closed runs from the top of the frame to its bottom."""
    svg = stroke_plot(Trace("r1", (0.0, 1.0), (1.0, 0.0)), None, ())
    frame = next(ET.fromstring(svg).iter(f"{_SVG}rect"))  # noqa: S314  # as above
    top, height = float(frame.get("y", "nan")), float(frame.get("height", "nan"))
    ys = [float(pair.split()[1]) for pair in re.split("[ML]", _paths(svg)[0].get("d", ""))[1:]]
    assert ys == pytest.approx([top, top + height])


def test_no_line_is_drawn_across_a_gap() -> None:
    """Where readings are missing the curve is broken."""
    times = (0.0, 1.0, 5.0, 6.0)
    whole = stroke_plot(Trace("r1", times, (1.0, 0.9, 0.2, 0.0)), None, ())
    broken = stroke_plot(Trace("r1", times, (1.0, 0.9, 0.2, 0.0), gaps_s=((1.0, 5.0),)), None, ())
    assert [path.get("d", "").count("M") for path in (*_paths(whole), *_paths(broken))] == [1, 2]


@pytest.mark.parametrize(
    "trace",
    [
        pytest.param(Trace("r1", (), ()), id="no sample"),
        pytest.param(Trace("r1", (0.0,), (0.5,)), id="one sample"),
        pytest.param(Trace("r1", (0.0, 1.0)), id="nothing read"),
        pytest.param(Trace("r1", (0.0, 1.0), (math.nan, 0.5), (math.inf, 1e5)), id="not a number"),
        pytest.param(Trace("r<1>&", (0.0, 1.0), (0.0, 0.5)), id="a name with markup"),
    ],
)
def test_an_odd_trace_still_gives_a_drawing(trace: Trace) -> None:
    """Whatever was recorded, the report is made."""
    svg = stroke_plot(trace, None, (Mark(0.0, "command"),))
    assert ET.fromstring(svg).tag == f"{_SVG}svg"  # noqa: S314  # as above
    assert "nan" not in svg
    assert "inf" not in svg


@given(st.lists(st.floats(min_value=-1e6, max_value=1e6), min_size=1, max_size=400), st.integers(4, 60))
def test_thinning_keeps_ends_and_peaks(values: list[float], most: int) -> None:
    """The least and the largest value survive, so do both ends, and the points stay in order."""
    times = tuple(float(number) for number in range(len(values)))
    kept_times, kept_values = thinned(times, tuple(values), most)
    assert len(kept_times) <= max(most, 4)
    assert (min(kept_values), max(kept_values)) == (min(values), max(values))
    assert (kept_times[0], kept_times[-1]) == (times[0], times[-1])
    assert list(kept_times) == sorted(kept_times)


def test_thinning_agrees_with_numpy_stretch_by_stretch() -> None:
    """NumPy's own minimum and maximum of each stretch of 200,000 samples are among the points that are left."""
    values = np.random.default_rng(7).normal(size=200_000)
    _, kept = thinned(tuple(range(values.size)), tuple(values.tolist()))
    assert len(kept) <= MOST_POINTS
    stretches = (MOST_POINTS - 2) // 2
    edges = [number * values.size // stretches for number in range(stretches)]
    assert set(np.minimum.reduceat(values, edges).tolist()) <= set(kept)
    assert set(np.maximum.reduceat(values, edges).tolist()) <= set(kept)
