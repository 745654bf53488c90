"""Facts are kept exactly or refused clearly."""

from datetime import UTC, datetime
from enum import StrEnum

import msgspec
import pytest

from commission.record.body import plain_body


class _End(StrEnum):
    OPEN = "open"


class _Reading(msgspec.Struct):
    bar: float
    ends: tuple[_End, ...]


def test_structs_enums_and_dates_become_plain() -> None:
    """Whatever the program's types hold comes out as JSON values."""
    body = {"reading": _Reading(60.5, (_End.OPEN,)), "at": datetime(2026, 5, 12, tzinfo=UTC), "by step": {1: "a"}}
    assert msgspec.json.decode(msgspec.json.encode(plain_body(body))) == {
        "reading": {"bar": 60.5, "ends": ["open"]},
        "at": "2026-05-12T00:00:00Z",
        "by step": {"1": "a"},
    }


@pytest.mark.parametrize(
    ("value", "place", "found"),
    [
        ({"travel": [1.0, float("nan")]}, "body.a.travel[1]", "nan"),
        (float("inf"), "body.a", "inf"),
        (2**70, "body.a", str(2**70)),
        ("broken \ud800 text", "body.a", "ud800"),
        ({"\ud800": 1}, "body.a, key", "ud800"),
    ],
)
def test_what_json_would_lose_is_refused_with_its_place(value: object, place: str, found: str) -> None:
    """A number that JSON turns into nothing never enters the record; the message says where it stood."""
    with pytest.raises(ValueError, match="expected") as caught:
        plain_body({"a": value})
    assert str(caught.value).startswith(f"{place}: found")
    assert found in str(caught.value)


def test_an_object_without_a_plain_form_is_refused() -> None:
    """Something that is no data at all is refused in words."""
    with pytest.raises(ValueError, match="JSON can keep"):
        plain_body({"a": object()})
