"""Old events are brought up to date step by step; an invented kind shows it."""

import msgspec
import pytest

from commission.record.errors import RecordDamaged
from commission.record.event import Event
from commission.record.upcasts import UPCASTS, Registry, upcast


def _event(v: int, body: dict[str, object], kind: str = "gauge_read") -> Event:
    return Event(
        n=7, session="s", at_utc="2026-05-12T06:40:00Z", at_mono_ns=5, by="T", kind=kind, v=v, need=False, body=body
    )


def _to_pascal(event: Event) -> Event:
    return msgspec.structs.replace(event, v=2, body={"pressure_pa": event.body["bar"] * 100_000})


def _with_gauge(event: Event) -> Event:
    return msgspec.structs.replace(event, v=3, body={**event.body, "gauge": "not recorded"})


REGISTRY: Registry = {("gauge_read", 1): _to_pascal, ("gauge_read", 2): _with_gauge}


@pytest.mark.parametrize(
    ("v", "body"),
    [(1, {"bar": 60}), (2, {"pressure_pa": 6_000_000}), (3, {"pressure_pa": 6_000_000, "gauge": "not recorded"})],
)
def test_each_version_arrives_at_the_newest(v: int, body: dict[str, object]) -> None:
    """From whichever version, the newest comes out; the stored event is untouched."""
    stored = _event(v, body)
    assert upcast(stored, REGISTRY) == _event(3, {"pressure_pa": 6_000_000, "gauge": "not recorded"})
    assert stored == _event(v, body)


def test_an_unknown_kind_is_kept_as_it_is() -> None:
    """A kind without upcasts comes out untouched."""
    event = _event(1, {"x": 1}, kind="not_known_here")
    assert upcast(event, REGISTRY) is event
    assert upcast(event) is event


def test_a_body_that_is_not_its_version_is_damage() -> None:
    """A missing fact is a sentence that names the event."""
    with pytest.raises(RecordDamaged, match="event 7, gauge_read: its facts are not as version 1"):
        upcast(_event(1, {}), REGISTRY)


@pytest.mark.parametrize(
    ("step", "words"),
    [
        (lambda event: event, "does not go forward"),
        (lambda event: msgspec.structs.replace(event, v=2, by="somebody else"), "changes when, who"),
        (lambda event: msgspec.structs.replace(event, v=2, n=8), "changes when, who"),
    ],
)
def test_a_wrong_upcast_is_refused(step: object, words: str) -> None:
    """An upcast goes forward and leaves alone who said it and when."""
    assert callable(step)
    with pytest.raises(ValueError, match=words):
        upcast(_event(1, {}), {("gauge_read", 1): step})


def test_the_real_registry_goes_forward_only() -> None:
    """Every registered upcast is for a version above zero."""
    assert all(v >= 1 for _, v in UPCASTS)
