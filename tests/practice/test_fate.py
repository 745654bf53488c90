"""Fates of answers."""

from commission.practice.fate import NO_FAULT, Fate, no_fault


def test_by_default_every_answer_arrives() -> None:
    """Nothing dropped, late, altered or refused."""
    assert no_fault(1, 3) is NO_FAULT
    assert Fate() == NO_FAULT
    assert (NO_FAULT.drop, NO_FAULT.delay_s, NO_FAULT.exception, NO_FAULT.alter) == (False, 0.0, 0, None)
