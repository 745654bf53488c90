"""The monitor's transmitter against a gauge, and the last comparison."""

import msgspec
import pytest

from commission.analysis.decision import Rule, decide
from commission.analysis.gauge import gauge_of
from commission.analysis.monitor import (
    EQUAL,
    LARGEST,
    SO_FAR,
    MonitorReading,
    MonitorSeen,
    NoPoint,
    equal_figures,
    equal_limits,
    monitor_figures,
    monitor_limits,
)
from tests.procedures.monitored import GAUGE
from tests.sheet.xv import xv_1101

SHEET = xv_1101()
POINTS = ((0, True), (25, True), (50, True), (75, True), (100, True), (75, False), (50, False), (25, False), (0, False))


def seen(off_bar: dict[tuple[int, bool], float] | None = None, wanted: int = 9) -> MonitorSeen:
    """Nine points, each off by so much."""
    off = off_bar or {}
    readings = tuple(
        MonitorReading(point_pct=point, up=up, gauge_bar=point, reading_pa=(point + off.get((point, up), 0.0)) * 1e5)
        for point, up in POINTS[:wanted]
    )
    return MonitorSeen(test="O2 1", gauge=gauge_of(GAUGE), readings=readings, wanted=9)


def test_the_largest_error_decides() -> None:
    """0.3 bar of 100 within ±0.5 %; 0.8 bar not."""
    good = monitor_figures(seen({(50, True): 0.3}), SHEET)[0]
    assert good.name == LARGEST
    assert good.note == "at 50 % up"
    assert good.unrounded == pytest.approx(0.003)
    assert decide(good, monitor_limits(SHEET)).verdict == "pass"
    bad = monitor_figures(seen({(75, False): -0.8}), SHEET)[0]
    assert decide(bad, monitor_limits(SHEET)).verdict == "fail"


def test_between_them_the_gauge_cannot_decide() -> None:
    """0.45 ± 0.12 % of the range."""
    figure = monitor_figures(seen({(50, True): 0.45}), SHEET)[0]
    assert decide(figure, monitor_limits(SHEET)).verdict == "not decided"


def test_zero_span_and_hysteresis_are_told_apart() -> None:
    """Terms of ANSI/ISA-51.1, as for a 4–20 mA loop."""
    up_and_down = {(100, True): 0.4, (50, True): 0.1, (50, False): 0.25, (0, True): 0.2, (0, False): 0.2}
    by_name = {figure.name: figure for figure in monitor_figures(seen(up_and_down), SHEET)}
    assert by_name["monitor_zero_error"].unrounded == pytest.approx(0.002)
    assert by_name["monitor_span_error"].unrounded == pytest.approx(0.002)
    assert by_name["monitor_hysteresis"].unrounded == pytest.approx(0.0015)
    assert by_name["monitor_error_down_50_pct"].unrounded == pytest.approx(0.0025)


def test_without_every_point_it_is_so_far_only() -> None:
    """And nothing read makes no figure."""
    assert monitor_figures(seen(wanted=3), SHEET)[0].name == SO_FAR
    with pytest.raises(NoPoint):
        monitor_figures(msgspec.structs.replace(seen(), readings=(), why="no pump"), SHEET)
    with pytest.raises(NoPoint):
        monitor_figures(seen(), msgspec.structs.replace(SHEET, monitor=None))


@pytest.mark.parametrize(("reading_bar", "verdict"), [(61.9, "pass"), (61.3, "pass"), (62.5, "fail"), (0.0, "fail")])
def test_equal_means_within_both_tolerances(reading_bar: float, verdict: str) -> None:
    """0.5 bar of the monitor and 0.1 bar of the gauge; a root valve left shut is far outside."""
    known = MonitorReading(point_pct=0, up=True, gauge_bar=61.8, reading_pa=reading_bar * 1e5)
    back = MonitorSeen(test="O7 1", gauge=gauge_of(GAUGE), readings=(known,), wanted=1, put_back="sealed S-1")
    figures = equal_figures(back, SHEET)
    assert figures[0].name == EQUAL
    assert figures[0].note == "sealed S-1"
    limits = equal_limits(figures, SHEET, back.gauge)
    assert limits.high == "60000"
    assert decide(figures[0], limits, Rule.SIMPLE).verdict == verdict


def test_not_compared_is_no_figure() -> None:
    """With why."""
    with pytest.raises(NoPoint, match="root valve"):
        equal_figures(MonitorSeen(test="", gauge=gauge_of(GAUGE), readings=(), wanted=1, why="root valve stuck"), SHEET)
