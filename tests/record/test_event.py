"""An event as text and as a value."""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.record.event import GENESIS, Event, event_from_text, link_digest

JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**63), 2**63 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)
EVENTS = st.builds(
    Event,
    n=st.integers(1, 2**40),
    session=st.text(),
    at_utc=st.just("2026-05-12T06:40:00.000000Z"),
    at_mono_ns=st.integers(0, 2**62),
    by=st.text(),
    kind=st.text(min_size=1),
    v=st.integers(1, 9),
    need=st.booleans(),
    body=st.dictionaries(st.text(), JSON, max_size=5),
)


@given(EVENTS)
def test_text_and_value_are_the_same_event(event: Event) -> None:
    """What is stored reads back as what was recorded, and encodes to the same text again."""
    text = event.text()
    assert event_from_text(text) == event
    assert event_from_text(text).text() == text


def test_time_is_read_as_utc() -> None:
    """The laptop's clock comes out as an aware datetime."""
    event = Event(
        n=1,
        session="s",
        at_utc="2026-05-12T06:40:00.250000Z",
        at_mono_ns=0,
        by="unit",
        kind="k",
        v=1,
        need=False,
        body={},
    )
    assert event.at.isoformat() == "2026-05-12T06:40:00.250000+00:00"


@pytest.mark.parametrize("text", ["", "{}", "[1]", '{"n":"1"}', "not json"])
def test_what_is_no_event_is_refused(text: str) -> None:
    """Text that is not an event is told apart from one."""
    with pytest.raises(msgspec.DecodeError):
        event_from_text(text)


def test_a_link_depends_on_both_sides() -> None:
    """The digest changes with the event and with all that stands before it."""
    first = link_digest(GENESIS, "a")
    assert len(first) == 32
    assert link_digest(first, "b") != link_digest(GENESIS, "b")
    assert link_digest(first, "b") != link_digest(first, "c")
