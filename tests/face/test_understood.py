"""Typed numbers shown back, and absurd ones asked again."""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.checklist import Question
from commission.energy import Need
from commission.face.understood import query, understood
from commission.walk.expected import Expected
from commission.walk.prompts import Ask, Conclude, Evidence

BAR = Question(id="p", ask="Pressure", kind="number", unit="bar", least="80", most="110", origin="sheet")
PLAIN = Question(
    id="p",
    ask="Pressure",
    kind="number",
    unit="bar",
    expects="computed.precharge_bar",
    within_pct="5",
    origin="common practice",
)
READING = Evidence(Need("zero", "PG-1", "Read PG-1", "reading", "", 1), 1)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("12,5", "12.5 bar"),
        ("12.5 bar", "12.5 bar"),
        ("1.2e3 psi", "82.7371 bar"),
        ("1500 kPa", "15 bar"),
        ("", ""),
        ("twelve", ""),
        ("12 mA", ""),
    ],
)
def test_a_number_is_shown_as_it_is_understood(text: str, shown: str) -> None:
    """As people write them, in the unit that was asked for; 1 psi = 6894.757 Pa (SP 811, appendix B.8)."""
    assert understood(Ask(BAR), text) == shown


def test_a_reading_may_say_what_it_was_read_on() -> None:
    """The word is no part of the number."""
    assert understood(READING, "96,5 bar transmitter") == "96.5 bar"
    assert understood(READING, "test 10 bar") == "10 bar"


def test_where_no_number_is_asked_nothing_is_shown() -> None:
    """A text that begins with a digit is no number."""
    assert understood(Ask(Question(id="t", ask="Which", kind="text")), "12") == ""
    assert understood(Conclude(), "12") == ""
    assert query(Conclude(), "12") == ""
    assert query(Ask(BAR), "twelve") == ""


@pytest.mark.parametrize(
    ("text", "asked"), [("1250", True), ("331", True), ("330", False), ("26", True), ("27", False), ("96", False)]
)
def test_a_number_three_times_outside_its_limits_is_asked_again(text: str, asked: bool) -> None:  # noqa: FBT001  # a column of the table
    """Not one that only fails: that is a finding."""
    words = query(Ask(BAR), text)
    assert bool(words) == asked
    if asked:
        assert words == f"{text} bar? expected 80 to 110 bar: Enter again takes it, or type anew"


def test_an_expected_number_is_named() -> None:
    """As the prompt shows it."""
    prompt = Ask(PLAIN, msgspec.convert({"text": "95", "origin": "sheet", "number": "95"}, Expected))
    assert query(prompt, "1250") == "1250 bar? expected about 95 bar: Enter again takes it, or type anew"
    assert query(prompt, "90") == ""
    assert query(Ask(PLAIN), "90") == ""


def test_what_must_not_be_shown_is_not_shown() -> None:
    """A question that stops the walk never says what it wants."""
    stopping = msgspec.structs.replace(PLAIN, stops="The wrong unit")
    words = query(Ask(stopping, msgspec.convert({"text": "95", "origin": "s", "number": "95"}, Expected)), "1250")
    assert "95" not in words
    assert words.startswith("1250 bar? far from what is expected")


@pytest.mark.parametrize(
    ("least", "most", "far", "near"),
    [("0", "5", "16", "-14"), ("-10", "-5", "26", "0"), ("", "5", "16", "-1e6"), ("", "0", "", "1e9")],
)
def test_limits_at_zero_and_below_have_a_width_instead(least: str, most: str, far: str, near: str) -> None:
    """Three times zero is no distance."""
    question = msgspec.structs.replace(BAR, least=least, most=most)
    assert query(Ask(question), near) == ""
    if far:
        assert query(Ask(question), far)


@given(st.floats(80, 110))
def test_what_is_within_limits_is_never_asked_again(value: float) -> None:
    """Whatever it is."""
    assert query(Ask(BAR), f"{value:.3f}") == ""
