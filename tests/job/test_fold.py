"""Tests of what a fold sees of an event."""

import msgspec
import pytest

from commission.job import bodies
from commission.job.fold import VERSION, happened
from tests.job.told import event_of

CONCLUDED = bodies.StepConcluded(step="K1-close", verdict="pass")


def test_an_event_comes_with_its_typed_body() -> None:
    """The facts of the stored event are the body again."""
    event = event_of(CONCLUDED)
    assert happened(event).body == CONCLUDED
    assert happened(event).event is event


def test_a_kind_of_a_newer_program_has_no_body() -> None:
    """Unknown kinds, and known kinds in a later version, are kept but not interpreted."""
    assert happened(event_of(CONCLUDED, kind="tea_poured")).body is None
    assert happened(event_of(CONCLUDED, v=VERSION + 1)).body is None


def test_a_known_kind_of_an_impossible_shape_is_an_error() -> None:
    """A body that lacks a fact is not guessed at."""
    with pytest.raises(msgspec.ValidationError):
        happened(event_of(CONCLUDED, body={"step": "K1-close"}))
