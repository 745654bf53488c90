"""The harness itself: it can fail, and says how."""

from collections.abc import Generator

import pytest

from commission.procedures.requests import Command, Note, Reply, Request, Watch
from commission.sample import Silence
from tests.procedures.playbook import Playbook


def _two_steps() -> Generator[Request, Reply, str]:
    yield Note("begun")
    seen = yield Watch()
    return type(seen).__name__


def test_a_played_procedure_returns() -> None:
    """Each request is met and the return value handed over."""
    played = Playbook(_two_steps()) << Note("begun") << Watch() >> Silence(1, 0, 5, "no answer")
    assert played.returned() == "Silence"


def test_a_mismatch_shows_both_with_an_arrow() -> None:
    """The message holds what was expected and what was asked."""
    book = Playbook(_two_steps())
    with pytest.raises(AssertionError, match=r"expected  Command\(.*\n -> asked     Note\(mark='begun'\)"):
        book << Command("command_open")
    Playbook.unfinished.clear()


def test_an_unfinished_one_fails() -> None:
    """Asking for the end too early fails with the request that stands open."""
    book = Playbook(_two_steps()) << Note
    with pytest.raises(AssertionError, match=r"expected  the end\n -> asked     Watch\(\)"):
        book.returned()
    Playbook.unfinished.clear()


def test_a_reply_without_a_request_fails() -> None:
    """Nothing may be given that was not asked for in the list."""
    book = Playbook(_two_steps())
    with pytest.raises(AssertionError, match="no request was stated"):
        book >> None
    Playbook.unfinished.clear()
