"""The only place that says pass."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.budget import Budget, rectangular, resolution
from commission.analysis.decision import (
    Limits,
    Rule,
    can_decide,
    conformance_probability,
    decide,
    false_acceptance_at_limit,
    stroke_limits,
    watched,
)
from commission.figure import Figure, Verdict, make_figure
from tests.analysis.seen import SHEET

NUMBERS = st.decimals(min_value=-1000, max_value=1000, places=3)
UNCERTAINTIES = st.decimals(min_value=Decimal("0.001"), max_value=50, places=3)


def figure(value: str, uncertainty: str, *, lower_bound_only: bool = False) -> Figure:
    """A figure with these texts."""
    return Figure(
        name="response_time",
        value=value,
        expanded_uncertainty=uncertainty,
        unit="s",
        method="test/1",
        unrounded=float(value),
        lower_bound_only=lower_bound_only,
    )


@given(
    NUMBERS,
    UNCERTAINTIES,
    NUMBERS,
    st.decimals(min_value=0, max_value=500, places=3),
    st.sampled_from(["value", "at least"]),
)
def test_nothing_outside_its_limits_ever_passes(
    value: Decimal, uncertainty: Decimal, low: Decimal, width: Decimal, kind: str
) -> None:
    """Pass means inside by U; fail means outside by more than U; lower bounds never pass."""
    bound = kind == "at least"
    limits = Limits(str(low), str(low + width))
    made = decide(figure(str(value), str(uncertainty), lower_bound_only=bound), limits)
    if made.verdict is Verdict.PASS:
        assert not bound
        assert low + uncertainty <= value <= low + width - uncertainty
    if made.verdict is Verdict.FAIL:
        assert value > low + width + uncertainty or (value < low - uncertainty and not bound)
    assert bool(made.settles) is (made.verdict is Verdict.NOT_DECIDED)


@given(NUMBERS, UNCERTAINTIES, NUMBERS)
def test_more_uncertainty_never_turns_into_a_pass(value: Decimal, uncertainty: Decimal, high: Decimal) -> None:
    """What is not passed with U is not passed with more."""
    limits = Limits(high=str(high))
    if decide(figure(str(value), str(uncertainty)), limits).verdict is not Verdict.PASS:
        assert decide(figure(str(value), str(uncertainty * 2)), limits).verdict is not Verdict.PASS


@given(NUMBERS, UNCERTAINTIES, NUMBERS)
def test_simple_acceptance_looks_at_the_value_alone(value: Decimal, uncertainty: Decimal, high: Decimal) -> None:
    """Pass or fail by the value, never undecided."""
    made = decide(figure(str(value), str(uncertainty)), Limits(high=str(high)), Rule.SIMPLE)
    assert made.verdict is (Verdict.PASS if value <= high else Verdict.FAIL)
    assert made.accept_high == str(high)


@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        ("10.5", Verdict.FAIL),
        ("10.1", Verdict.NOT_DECIDED),
        ("8.0", Verdict.NOT_DECIDED),
        ("3.0", Verdict.NOT_DECIDED),
    ],
)
def test_r19_at_least_can_fail_and_never_pass(value: str, verdict: Verdict) -> None:
    """A time without its t0: beyond the upper limit it fails; it says nothing of the lower one."""
    made = decide(figure(value, "0.2", lower_bound_only=True), Limits("6.0", "10.0"))
    assert made.verdict is verdict
    if verdict is Verdict.NOT_DECIDED:
        assert "only a lower bound" in made.settles
    assert decide(figure(value, "0.2", lower_bound_only=True), Limits("6.0", "10.0"), Rule.SIMPLE).verdict in (
        Verdict.FAIL,
        Verdict.NOT_DECIDED,
    )


def test_not_decided_says_what_would_settle_it() -> None:
    """The uncertainty that would do, or that no value could pass with this one."""
    near = decide(figure("9.95", "0.20"), Limits("6.0", "10.0"))
    assert near.settles.startswith("a measurement with U of 0.05 s or less (now 0.20 s")
    hopeless = decide(figure("8.0", "2.5"), Limits("6.0", "10.0"))
    assert "no value could pass" in hopeless.settles
    assert "on the limit itself" in decide(figure("10.0", "0.2"), Limits("6.0", "10.0")).settles


def test_acceptance_limits_are_printed_as_decimals() -> None:
    """Limits and acceptance limits are kept as text, exactly."""
    made = decide(figure("8.05", "0.03"), Limits("6.0", "10.0"))
    assert (made.verdict, made.accept_low, made.accept_high) == (Verdict.PASS, "6.03", "9.97")
    assert (made.limit_low, made.limit_high) == ("6.0", "10.0")
    assert "ILAC-G8" in made.rule_text


@given(st.floats(-1e3, 1e3), st.floats(1e-4, 10))
def test_the_verdict_is_of_the_printed_text(value: float, uncertainty: float) -> None:
    """A figure made, stored as text and made again from it is judged alike: round trip."""
    made = make_figure("t", value, uncertainty, "s", "test/1")
    again = figure(made.value, made.expanded_uncertainty)
    limits = Limits("-5.0", "5.0")
    assert decide(made, limits).verdict is decide(again, limits).verdict


@pytest.mark.parametrize(
    ("low", "high", "message"),
    [(None, None, "at least one"), ("a", None, "plain number, not 'a'"), ("3", "2", "not above"), ("nan", None, "nan")],
)
def test_limits_that_judge_nothing_are_refused(low: str | None, high: str | None, message: str) -> None:
    """The message says what is wrong with them."""
    with pytest.raises(ValueError, match=message):
        Limits(low, high)


def test_limits_read_as_people_say_them() -> None:
    """At most, at least, from to."""
    assert [str(Limits(high="10")), str(Limits("6")), str(Limits("6", "10"))] == ["at most 10", "at least 6", "6 to 10"]


def test_stroke_limits_are_the_sheets() -> None:
    """Shortest and longest, as the sheet has them."""
    assert stroke_limits(SHEET.strokes.closing) == Limits("6.0", "10.0")


@pytest.mark.parametrize(
    ("expected", "uncertainty", "text"),
    [
        (8.0, 0.03, "yes: U 0.03 s against 2 s of room"),
        (8.0, 2.5, "no: U 2.5 s against 2 s of room"),
        (11.0, 0.03, "expected value is outside the limits: U 0.03 s against 1 s of room"),
    ],
)
def test_before_the_movement_it_says_whether_it_can_decide(expected: float, uncertainty: float, text: str) -> None:
    """The sum is shown: uncertainty against room."""
    outlook = can_decide(expected, Limits("6.0", "10.0"), uncertainty)
    assert (outlook.can, outlook.text) == (not text.startswith("no"), text)


def test_probabilities_refuse_no_uncertainty() -> None:
    """A probability needs a distribution."""
    with pytest.raises(ValueError, match="above zero"):
        conformance_probability(1.0, 0.0, Limits("0"))
    assert false_acceptance_at_limit(0.0) == 0.5


@given(NUMBERS, UNCERTAINTIES, NUMBERS, st.decimals(min_value=0, max_value=500, places=3))
def test_what_stands_beside_a_verdict_agrees_with_it(
    value: Decimal, uncertainty: Decimal, low: Decimal, width: Decimal
) -> None:
    """A guarded pass passes simply too and is outside with under 5 %; a guarded fail fails simply too."""
    made = decide(figure(str(value), str(uncertainty)), Limits(str(low), str(low + width)))
    assert made.outside_probability is not None
    assert made.simple in (Verdict.PASS, Verdict.FAIL)
    if made.verdict is Verdict.PASS:
        assert made.simple is Verdict.PASS
        assert made.outside_probability <= 0.0501
    if made.verdict is Verdict.FAIL:
        assert made.simple is Verdict.FAIL
        assert made.outside_probability >= 0.5
    assert made.ratio == pytest.approx(float(width / (2 * uncertainty)))


def test_a_very_small_risk_is_not_lost() -> None:
    """Seven standard uncertainties inside: one in 10^12, not zero."""
    made = decide(figure("5.0", "0.1"), Limits(high="5.357"))
    assert made.outside_probability == pytest.approx(1.31e-12, rel=0.05)
    assert made.ratio is None


def test_a_lower_bound_and_an_exact_figure_have_no_risk() -> None:
    """Nothing is made up for them."""
    assert decide(figure("5.0", "0.1", lower_bound_only=True), Limits("4", "6")).outside_probability is None
    exact = decide(figure("5", "0"), Limits("4", "6"))
    assert (exact.outside_probability, exact.ratio) == (None, None)


def test_what_would_settle_it_names_the_largest_line() -> None:
    """Where the figure carries its budget, the line to work on is named."""
    lines = (rectangular("gauge PG-1, class 1", 1.6e5), resolution("last digit", 1e4))
    close = Budget(lines).figure("running_pressure", 34.9e5, "Pa", "test/1")
    made = decide(close, Limits(high="3500000"))
    assert "most of it from gauge PG-1, class 1; a better instrument or more readings" in made.settles


@pytest.mark.parametrize(
    ("verdict", "value", "expected"),
    [
        (Verdict.PASS, "8.9", Verdict.PASS),
        (Verdict.PASS, "9.7", Verdict.PASS_WATCH),
        (Verdict.PASS, "6.3", Verdict.PASS_WATCH),
        (Verdict.FAIL, "9.7", Verdict.FAIL),
        (Verdict.NOT_DECIDED, "9.7", Verdict.NOT_DECIDED),
    ],
)
def test_outside_its_baseline_band_a_pass_is_to_be_watched(verdict: Verdict, value: str, expected: Verdict) -> None:
    """6.4 to 9.6 s; no other verdict is made better or worse by a band."""
    assert watched(verdict, figure(value, "0.05"), 6.4, 9.6) is expected
