"""The verdict on a partial stroke: absolute limits first, then the baseline."""

import msgspec

from commission.analysis.baseline import compare
from commission.analysis.partial_limits import absolute_limits, judge_partial
from commission.figure import Figure, Verdict
from commission.practice.condition import Condition
from tests.analysis.partials import baseline, figures
from tests.analysis.seen import SHEET

PLAN = SHEET.partial_stroke
assert PLAN is not None


def judged(found: dict[str, Figure], rest_h: float = 0.2) -> tuple[str, Verdict, str]:
    """The deciding figure, the verdict, and the reason."""
    assert PLAN is not None
    rows = compare(found.values(), baseline(), rest_h)
    decided = judge_partial(tuple(found.values()), PLAN, rows)
    assert decided is not None
    figure, _limits, _origin, decision = decided
    return figure.name, decision.verdict, decision.settles


def test_a_healthy_rerun_passes() -> None:
    """Inside limits and bands."""
    assert judged(figures(seed=9)) == ("time_to_target", Verdict.PASS, "")


def test_the_unit_of_twelve_months_later_is_watched_for_its_pressure() -> None:
    """Friction x 1.45: pass, watch, and the pressure is the reason, with both values."""
    _, verdict, why = judged(figures(Condition(friction_factor=1.45), seed=9))
    assert verdict is Verdict.PASS_WATCH
    assert "breakaway pressure 48." in why
    assert "was 53.5 bar (-5." in why
    assert "friction pressure 19.5 bar, was 13.4 bar (+6.0 bar, +45 %)" in why
    assert "spring pressure 60.8 bar, was 61.0 bar" in why
    assert "time" not in why


def test_a_broken_limit_fails_whatever_the_baseline_says() -> None:
    """A needle at 60 %: 17 s instead of 10, limit 15."""
    found = figures(seed=9)
    found["time_to_target"] = msgspec.structs.replace(found["time_to_target"], value="16.900")
    name, verdict, _ = judged(found)
    assert (name, verdict) == ("time_to_target", Verdict.FAIL)


def test_r21_breakaway_without_a_like_rest_leaves_it_not_decided() -> None:
    """Nothing else is wrong, and still it is no pass."""
    _, verdict, why = judged(figures(seed=9), rest_h=4000.0)
    assert verdict is Verdict.NOT_DECIDED
    assert "no run after a like rest" in why


def test_a_missing_figure_gives_no_verdict() -> None:
    """A stroke whose return was not seen is not judged."""
    assert PLAN is not None
    found = figures()
    del found["return_time"]
    assert judge_partial(tuple(found.values()), PLAN, ()) is None


def test_a_deliberate_return_has_no_time_to_target() -> None:
    """It is held to where it turned, and to coming home."""
    assert PLAN is not None
    limits = absolute_limits(PLAN, 8.0)
    assert "time_to_target" not in limits
    assert (limits["turning_point"].low, limits["turning_point"].high) == ("0.06", "0.2")


def test_what_is_only_not_certain_is_said_apart() -> None:
    """With its uncertainty, rather than as a change."""
    found = figures(seed=9)
    found["speed"] = msgspec.structs.replace(found["speed"], expanded_uncertainty="0.0040")
    _, verdict, why = judged(found)
    assert verdict is Verdict.PASS_WATCH
    assert why == "not certainly inside: speed (U 0.40 %/s)"
