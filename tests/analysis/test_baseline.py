"""The baseline of a partial stroke: bands, what may be compared, and rows with their reason."""

import msgspec
import pytest

from commission.analysis.baseline import band, compare, is_rested, kind_of
from commission.figure import Verdict, make_figure
from commission.practice.condition import Condition
from tests.analysis.partials import baseline, figures

SAME = ("EH-40117", {"run_limit": "300"}, "low-temperature mineral oil", "separate 1.2 mm bleed")


def verdicts(condition: Condition, rest_h: float | None = 0.2, *, rested: bool = False) -> dict[str, str]:
    """Each figure of one run beside the baseline."""
    rows = compare(figures(condition, seed=9).values(), baseline(rested), rest_h)
    return {row.figure: row.verdict for row in rows}


def test_a_healthy_run_is_inside_every_band() -> None:
    """What has no band is for information, and says nothing."""
    found = verdicts(Condition())
    assert set(found.values()) == {Verdict.PASS, ""}
    unjudged = {name for name, verdict in found.items() if not verdict}
    on_the_way = {f"{way}_time_{at}_pct" for way in ("out", "back") for at in (5, 10)}
    assert unjudged == {"friction_pressure", "spring_pressure", "turning_point", *on_the_way}


def test_a_stiffer_valve_is_seen_in_the_pressures_and_not_in_the_times() -> None:
    """Friction x 1.45: pressure down by more than 5 bar, time to target by 7 %."""
    found = verdicts(Condition(friction_factor=1.45))
    watched = {name for name, verdict in found.items() if verdict == Verdict.PASS_WATCH}
    assert {"breakaway_pressure", "out_pressure_5_pct", "back_pressure_5_pct"} <= watched
    assert found["time_to_target"] == found["dead_time"] == Verdict.PASS


def test_r21_breakaway_is_compared_after_a_like_rest_only() -> None:
    """After months at rest the runs of a working day say nothing; a rested run does."""
    assert verdicts(Condition(), rest_h=4000.0)["breakaway_pressure"] == Verdict.NOT_DECIDED
    assert verdicts(Condition(), rest_h=None)["breakaway_pressure"] == Verdict.NOT_DECIDED
    assert verdicts(Condition(), rest_h=4000.0, rested=True)["breakaway_pressure"] == Verdict.PASS
    assert verdicts(Condition(), rest_h=4000.0)["out_pressure_10_pct"] == Verdict.PASS


@pytest.mark.parametrize(("rest_h", "rested"), [(None, False), (11.9, False), (12.0, True)])
def test_r21_twelve_hours_make_a_rested_run(rest_h: float | None, rested: bool) -> None:  # noqa: FBT001  # a column
    """What nobody knows is no rest."""
    assert is_rested(rest_h) is rested


def test_a_baseline_says_whether_it_has_a_rested_run() -> None:
    """A hand-over baseline without one says that it lacks one (safety rule R21)."""
    assert not baseline().has_rested_run
    assert baseline(rested=True).has_rested_run


def test_nothing_is_compared_with_a_unit_that_has_changed() -> None:
    """What differs is named, with both values."""
    kept = baseline()
    assert kept.apart(*SAME) == ""
    assert kept.apart("EH-40118", *SAME[1:]) == "serial was EH-40117, is EH-40118"
    assert kept.apart(SAME[0], {"run_limit": "75"}, *SAME[2:]) == "run limit was 300, is 75"
    assert kept.apart(SAME[0], {}, *SAME[2:]) == "run limit was 300, is not read"
    assert not kept.oil_apart(34.0)
    assert kept.oil_apart(36.0)
    assert not kept.oil_apart(None)
    rows = compare(figures().values(), kept, 0.2, "serial was EH-40117, is EH-40118")
    assert {row.verdict for row in rows} == {Verdict.NOT_DECIDED, ""}
    assert all(row.why for row in rows if row.verdict)


def test_default_bands() -> None:
    """± 20 % of a time but at least 0.2 s, 15 % or 5 bar of a pressure, ± 0.5 % of travel (common practice)."""
    wide = band("time_to_target", (10.0, 10.1, 9.9))
    assert wide is not None
    assert (float(wide.low or 0), float(wide.high or 0)) == pytest.approx((8.0, 12.0))
    short = band("pressure_dead_time", (0.02,))
    assert short is not None
    assert (float(short.low or 0), float(short.high or 0)) == pytest.approx((-0.18, 0.22))
    pressure = band("breakaway_pressure", (53e5,))
    assert pressure is not None
    assert (float(pressure.low or 0), float(pressure.high or 0)) == pytest.approx((48e5, 58e5))
    assert band("friction_pressure", (13e5,)) is None
    assert kind_of("spring_pressure") is None


def test_what_is_not_certainly_inside_is_watched() -> None:
    """The uncertainty counts against the run."""
    kept = baseline()
    mean = sum(kept.values("speed")) / 3
    edge = make_figure("speed", mean * 1.195, mean * 0.02, "1/s", "m/1")
    (row,) = compare((edge,), kept, 0.2)
    assert (row.verdict, row.why) == (Verdict.PASS_WATCH, "not certainly inside the baseline band")
    beyond = msgspec.structs.replace(edge, value=f"{mean * 1.21:.6f}")
    (row,) = compare((beyond,), kept, 0.2)
    assert row.why == "outside the baseline band", "the value is, whether or not that is certain"
    outside = msgspec.structs.replace(edge, value="0.0190")
    (row,) = compare((outside,), kept, 0.2)
    assert row.why == "outside the baseline band"


def test_times_on_the_way_are_shown_beside_their_band_and_not_judged() -> None:
    """They are short, and coarse where polling is slow: the whole way and the speed are what is judged."""
    rows = {row.figure: row for row in compare(figures(seed=9).values(), baseline(), 0.2)}
    for name in ("out_time_5_pct", "out_time_10_pct", "back_time_5_pct", "back_time_10_pct"):
        assert rows[name].low
        assert rows[name].verdict == ""
    assert rows["time_to_target"].verdict == "pass"
