"""Tests of the kinds of event."""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.job import bodies
from commission.job.bodies import BODIES, KINDS, NEED, body_of, kind_of
from tests.job.told import begun, job_opened

ANY = st.sampled_from(BODIES)


def test_a_kind_is_its_class_in_small_letters() -> None:
    """The name in the record follows from the class and is told apart from all others."""
    assert kind_of(bodies.StepConcluded) == "step_concluded"
    assert KINDS["motion_begun"] is bodies.MotionBegun
    assert len(KINDS) == len(BODIES)


@pytest.mark.parametrize("body", BODIES, ids=kind_of)
def test_a_kind_is_a_past_participle_with_typed_facts(body: type[bodies.Body]) -> None:
    """Each event says what happened, and no kind holds facts without a type."""
    assert body.__doc__
    assert [field.name for field in msgspec.structs.fields(body)] == list(body.__struct_fields__)
    assert kind_of(body) in KINDS


def test_what_moves_the_valve_or_holds_a_lock_must_be_known() -> None:
    """A program that does not know one of these must not go on with the job."""
    for body in (
        bodies.EnergyProved,
        bodies.EnergyLost,
        bodies.MotionBegun,
        bodies.CommandSent,
        bodies.TemporaryAdded,
    ):
        assert kind_of(body) in NEED
    assert frozenset(KINDS) >= NEED


@pytest.mark.parametrize("body", [begun(), job_opened()], ids=lambda body: kind_of(type(body)))
def test_a_body_comes_back_from_its_facts(body: bodies.Body) -> None:
    """JSON and back is the same body, nested plans and texts included."""
    facts = msgspec.json.decode(msgspec.json.encode(body))
    assert body_of(kind_of(type(body)), facts) == body


def test_an_unknown_kind_has_no_body_and_a_known_one_its_shape() -> None:
    """Not known is None; known with facts of another shape is an error that names the field."""
    assert body_of("tea_poured", {"cups": 2}) is None
    with pytest.raises(msgspec.ValidationError, match="verdict"):
        body_of("step_concluded", {"step": "K1"})
    with pytest.raises(ValueError, match="Expected `str`"):
        body_of("step_concluded", {"step": 1, "verdict": "pass"})


@given(ANY, st.dictionaries(st.text(max_size=6), st.none() | st.integers() | st.text(max_size=4), max_size=4))
def test_any_facts_are_a_body_or_an_error_of_their_shape(kind: type[bodies.Body], facts: dict[str, object]) -> None:
    """No facts, however odd, raise anything but what says that they are of no shape."""
    try:
        body = body_of(kind_of(kind), facts)
    except msgspec.ValidationError:
        return
    assert isinstance(body, kind)
