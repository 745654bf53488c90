"""Tests of the average probability of failure on demand: its parts, its refusals, who gave what."""

import msgspec
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from commission.engineering.reliability import FinalElement, Given, average_unavailability


def by(value: float) -> Given:
    """A number with a name."""
    return Given(value, "the owner's engineer")


ELEMENT = FinalElement(
    undetected_per_h=by(1.5e-6), full_interval_h=by(17_520), full_coverage=by(0.9), life_h=by(131_400)
)
TESTED = msgspec.structs.replace(ELEMENT, partial_interval_h=by(2190), partial_coverage=by(0.6))


@given(coverage=st.floats(0.0, 0.89))
def test_a_partial_test_never_makes_it_worse(coverage: float) -> None:
    """And never better than finding that share at once."""
    with_partial = msgspec.structs.replace(TESTED, partial_coverage=by(coverage)).pfd_average()
    assert ELEMENT.pfd_average() * (1 - coverage) - 1e-12 <= with_partial <= ELEMENT.pfd_average() + 1e-12


@given(one=st.floats(0.0, 50.0), other=st.floats(0.0, 50.0))
@example(one=0.1, other=0.1001)
def test_a_longer_interval_is_never_better(one: float, other: float) -> None:
    """Across the change from λT/2 to the exact form; and it stays below one."""
    short, long = sorted((one, other))
    assert average_unavailability(1.0, short) <= average_unavailability(1.0, long)
    assert average_unavailability(1.0, long) < 1.0


def test_a_partial_test_replaces_no_full_one() -> None:
    """As much coverage as the full test, or all of it, is refused."""
    for coverage in (0.9, 1.0):
        with pytest.raises(ValueError, match="less than the full one"):
            msgspec.structs.replace(TESTED, partial_coverage=by(coverage))
    with pytest.raises(ValueError, match="its interval and its coverage"):
        msgspec.structs.replace(ELEMENT, partial_coverage=by(0.5))


def test_a_number_without_a_name_is_not_used() -> None:
    """Safety rule R26."""
    with pytest.raises(ValueError, match="who gave"):
        Given(1.0, " ")


@pytest.mark.parametrize(("field", "value"), [("undetected_per_h", 0.0), ("full_coverage", 1.1), ("life_h", 0.0)])
def test_out_of_range_is_refused(field: str, value: float) -> None:
    """Rates, times and shares."""
    with pytest.raises(ValueError, match=r"above|at most"):
        msgspec.structs.replace(ELEMENT, **{field: by(value)})


def test_repair_adds_its_time() -> None:
    """λ·MTTR on top, of detected failures too."""
    repaired = msgspec.structs.replace(ELEMENT, repair_h=by(8), detected_per_h=by(1e-6))
    assert repaired.pfd_average() == pytest.approx(ELEMENT.pfd_average() + 2.5e-6 * 8, rel=1e-9)
