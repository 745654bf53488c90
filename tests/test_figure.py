"""Tests of figures: rounding, and what is kept as text."""

import math
from decimal import Decimal

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.figure import Figure, Verdict, make_figure, round_pair

numbers = st.floats(allow_nan=False, allow_infinity=False)
uncertainties = st.floats(min_value=0, allow_nan=False, allow_infinity=False, exclude_min=True)


@pytest.mark.parametrize(
    ("value", "expanded", "text"),
    [
        (8.0512, 0.0308, ("8.051", "0.031")),
        (146.287, 0.098, ("146.287", "0.098")),
        (146.287, 0.0991, ("146.29", "0.10")),
        (8.05, 0.0995, ("8.05", "0.10")),
        (12345.0, 995.0, ("12300", "1000")),
        (56789.0, 1234.0, ("56800", "1300")),
        (0.00012345, 0.0000021, ("0.0001234", "0.0000021")),
        (-3.25, 0.5, ("-3.25", "0.50")),
        (2.5, 10.0, ("2", "10")),
        (3.5, 10.0, ("4", "10")),
        (20.0, 0.0, ("20", "0")),
        (0.1, 0.0, ("0.1", "0")),
    ],
    ids=str,
)
def test_value_and_uncertainty_are_rounded_together(value: float, expanded: float, text: tuple[str, str]) -> None:
    """U to two digits, up; the value to the same place, half to even (JCGM 100:2008, 7.2.6; from memory)."""
    assert round_pair(value, expanded) == text


def test_the_gum_rounds_its_own_example_so() -> None:
    """JCGM 100:2008, 7.2.2: m = 100.021 47 g with u = 0.35 mg, in grams (from memory, recomputed)."""
    assert round_pair(100.02147, 0.00035) == ("100.02147", "0.00035")


@given(numbers, uncertainties)
def test_rounding_keeps_what_was_measured(value: float, expanded: float) -> None:
    """U never shrinks and grows by less than a tenth; the value moves by half a unit of U's last place at most."""
    text, uncertainty = (Decimal(part) for part in round_pair(value, expanded))
    exact = Decimal(repr(expanded))
    assert exact <= uncertainty <= exact * Decimal("1.1")
    place = Decimal(1).scaleb(exact.adjusted() - 1)
    if uncertainty.adjusted() != exact.adjusted():
        place *= 10
    assert abs(text - Decimal(repr(value))) <= place / 2
    assert uncertainty % place == 0


@given(st.floats(min_value=-1e12, max_value=1e12), st.floats(min_value=1e-9, max_value=1e9))
def test_rounding_twice_is_rounding_once(value: float, expanded: float) -> None:
    """What was printed, read and rounded again is printed the same."""
    once = round_pair(value, expanded)
    assert round_pair(float(once[0]), float(once[1])) == once


@given(numbers, uncertainties)
def test_text_is_plain_decimal_with_two_digits(value: float, expanded: float) -> None:
    """No exponent reaches a report, and U shows two digits and no third that is not zero."""
    text, uncertainty = round_pair(value, expanded)
    assert set(text) <= set("-0123456789.")
    assert len(uncertainty.replace(".", "").strip("0")) <= 2
    places = len(uncertainty.partition(".")[2])
    assert len(text.partition(".")[2]) == places


@given(st.floats(min_value=-0.04, max_value=0.04))
def test_zero_has_no_sign(value: float) -> None:
    """A small negative number that rounds to nothing is printed as 0, not as -0."""
    assert round_pair(value, 10.0)[0] == "0"
    assert round_pair(-0.0, 0.0) == ("0", "0")


@pytest.mark.parametrize(
    ("value", "expanded"),
    [(math.nan, 0.1), (math.inf, 0.1), (1.0, math.nan), (1.0, math.inf), (1.0, -0.1)],
    ids=["value nan", "value inf", "U nan", "U inf", "U negative"],
)
def test_what_is_no_measured_number_is_refused(value: float, expanded: float) -> None:
    """Nothing that is not finite, and no negative uncertainty, becomes a figure."""
    with pytest.raises(ValueError, match="not a measurable figure"):
        round_pair(value, expanded)


def test_numbers_of_the_array_library_are_taken() -> None:
    """An analysis may hand over numpy's own floats; the figure holds plain ones, so that it can be stored."""
    figure = make_figure("response_time", np.float64(8.0512), np.float64(0.0308), "s", "timing.stroke/1")
    assert (figure.value, figure.expanded_uncertainty) == ("8.051", "0.031")
    assert msgspec.json.decode(msgspec.json.encode(figure), type=Figure) == figure


def test_a_figure_carries_what_was_judged() -> None:
    """The decimals are those of the text; the unrounded value is kept beside them."""
    figure = make_figure("t", 8.0512, 0.0308, "s", "timing.stroke/1", lower_bound_only=True, note="no t0")
    assert (figure.decimal, figure.uncertainty_decimal) == (Decimal("8.051"), Decimal("0.031"))
    assert figure.unrounded == 8.0512
    assert (figure.lower_bound_only, figure.note) == (True, "no t0")


def test_verdicts_that_need_a_repeat_are_not_done() -> None:
    """Void, stopped and stopped before motion ask for a repeat; every other verdict concludes."""
    assert {verdict for verdict in Verdict if not verdict.counts_as_done} == {
        Verdict.VOID,
        Verdict.STOPPED,
        Verdict.NO_TEST,
    }


def test_only_passes_and_what_does_not_apply_are_good() -> None:
    """Not decided, simulated and not tested are no passes."""
    good = {verdict for verdict in Verdict if verdict.is_good}
    assert good == {Verdict.PASS, Verdict.PASS_AFTER_ADJUSTMENT, Verdict.PASS_WATCH, Verdict.NOT_APPLICABLE}
    assert all(verdict.counts_as_done for verdict in good)
