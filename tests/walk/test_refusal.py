"""A refusal as people read it."""

from commission.walk.refusal import Refusal


def test_a_refusal_says_why_and_what_settles_it() -> None:
    """Two sentences, the second left out where nothing would settle it."""
    assert str(Refusal("K1 needs J2 first", "Go to J2")) == "K1 needs J2 first. Go to J2"
    assert str(Refusal("does not apply")) == "does not apply"
