"""The exact bound of a count, against the closed form for none, a referee, and the share that it must cover."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import beta

from commission.analysis.counted import upper_bound


@pytest.mark.parametrize("tries", [1, 59, 1000, 3000])
def test_none_seen_has_a_closed_form(tries: int) -> None:
    """1 - 0.05^(1/n); 59 tries without one leave 5 %, the textbooks' sample size (Wilks, 1941, from memory)."""
    assert upper_bound(0, tries) == pytest.approx(1 - 0.05 ** (1 / tries), rel=1e-9)
    assert upper_bound(0, 59) == pytest.approx(0.0495, abs=5e-4)


@given(seen=st.integers(0, 40), more=st.integers(1, 4000))
def test_it_is_the_quantile_of_a_beta_distribution(seen: int, more: int) -> None:
    """SciPy's inverse of the incomplete beta function as referee."""
    tries = seen + more
    assert upper_bound(seen, tries) == pytest.approx(float(beta.ppf(0.95, seen + 1, tries - seen)), rel=1e-6)


def test_what_is_no_count_is_refused() -> None:
    """And all of all leaves everything possible."""
    assert upper_bound(3, 3) == 1.0
    for seen, tries in ((1, 0), (-1, 5), (6, 5)):
        with pytest.raises(ValueError, match="is no count"):
            upper_bound(seen, tries)
