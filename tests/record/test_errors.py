"""Every error of the record is one that a person can be told."""

import inspect

from commission.record import errors


def test_all_are_record_errors_and_drawn_in_the_tree() -> None:
    """One `except RecordError` catches them all, and the page's tree names each."""
    kinds = [kind for _, kind in inspect.getmembers(errors, inspect.isclass)]
    assert len(kinds) == 7
    for kind in kinds:
        assert issubclass(kind, errors.RecordError)
        assert kind.__name__ in (errors.__doc__ or "")
