"""Watching what people do: what is kept, what is asked again, what moved after an act."""

from collections.abc import Generator

import pytest

from commission.analysis.fail_safe import Proof
from commission.procedures.onlooker import Onlooker
from commission.procedures.requests import Answer, Ask, Note, Reply, Request, Watch
from commission.sample import Silence
from commission.sheet import End
from commission.sheet.decode import Reading, Readings
from tests.procedures.playbook import Playbook

QUESTION = Ask("restored", "Give it back")


def seen(at_s: float, travel: float, *, closed: bool = True) -> Readings:
    """One sample of a valve."""
    at_ns = round(at_s * 1e9)
    values = {"travel": travel, "closed_limit": float(closed)}
    return Readings(round(at_s * 10), at_ns, {role: Reading(value, at_ns, 0) for role, value in values.items()})


def silent(at_s: float) -> Silence:
    """No sample."""
    return Silence(round(at_s * 10), 0, round(at_s * 1e9), "no answer")


def said(text: str, name: str = "restored") -> Answer:
    """What somebody says."""
    return Answer(name, text, "T. Placeholder", 0)


def after(onlooker: Onlooker, words: tuple[str, ...] = ()) -> Generator[Request, Reply, Proof]:
    """Watched for one second after the answer, standing closed."""
    return (yield from onlooker.after("power given back", QUESTION, 1.0, stands=End.CLOSED, words=words))


def proof_of(*items: Reply, words: tuple[str, ...] = ()) -> Proof:
    """The proof that these replies make."""
    book = Playbook(after(Onlooker(), words))
    for item in items:
        if book._done:
            break
        book << (lambda asked: isinstance(asked, Watch | Note)) >> item  # a playbook
    return book.returned()


def test_nothing_moved() -> None:
    """The level before, the limit made throughout."""
    found = proof_of(seen(0, 0.001), said("IS-2 on"), *(seen(0.2 + step / 5, 0.001) for step in range(8)))
    assert found.wrong == ""
    assert found.watched_s >= 1.0


def test_what_moves_while_the_question_is_still_open_counts() -> None:
    """Power back and the answer typed later: the movement lies before the answer."""
    items = (seen(0, 0.001), seen(0.2, 0.05, closed=False), seen(0.4, 0.001), said("on"))
    found = proof_of(*items, *(seen(0.6 + step / 5, 0.001) for step in range(8)))
    assert found.wrong == "power given back: the valve moved by 4.9 %"


def test_a_unit_that_was_silent_is_waited_for() -> None:
    """Its first reading after that is the level it stands at."""
    items = (silent(0), said("on"), silent(0.2), silent(0.4))
    found = proof_of(*items, *(seen(0.6 + step / 5, 0.5) for step in range(8)))
    assert found.moved == 0.0


def test_one_that_stays_silent_is_a_fault() -> None:
    """Power was given back, and it is dead."""
    found = proof_of(silent(0), said("on"), *(silent(0.2 + step) for step in range(70)))
    assert "not heard again" in found.wrong


def test_an_answer_outside_the_known_ones_is_asked_again() -> None:
    """And what is known is kept by its word alone."""
    items = (seen(0, 0.0), said("perhaps"), None, seen(0.1, 0.0), said("refused: tripped"))
    found = proof_of(*items, *(seen(0.2 + step / 5, 0.0) for step in range(8)), words=("refused", "obeyed"))
    assert (found.said, found.wanted, found.wrong) == ("refused", "refused", "")


@pytest.mark.parametrize("words", [(), ("refused", "obeyed")])
def test_who_cannot_is_heard(words: tuple[str, ...]) -> None:
    """With the reason, as what is wrong."""
    items = (seen(0, 0.0), said("Cannot, the panel is locked"))
    found = proof_of(*items, *(seen(0.2 + step / 5, 0.0) for step in range(8)), words=words)
    assert "panel is locked" in found.wrong


def test_what_is_old_is_forgotten_and_a_silence_has_no_value() -> None:
    """A watch of ten minutes keeps seconds."""

    def watching(onlooker: Onlooker) -> Generator[Request, Reply, float | None]:
        yield from onlooker.watch_for(5.0)
        onlooker.forget(1.0)
        level = onlooker.level("travel")
        yield from onlooker.look()
        assert onlooker.bit("closed_limit") is None
        assert onlooker.value("travel") is None
        assert not (yield from onlooker.hear_again(0.5))
        return level

    onlooker = Onlooker()
    book = Playbook(watching(onlooker))
    book.feed([*(seen(step / 2, 0.25) for step in range(11)), silent(6.0), silent(6.3), silent(6.9)])
    assert book.returned() == 0.25
    assert len(onlooker.items) <= 6


def test_a_reply_of_another_kind_is_the_programs_mistake() -> None:
    """Said, rather than taken for a sample."""

    def looking() -> Generator[Request, Reply, bool]:
        return (yield from Onlooker().look())

    procedure = looking()
    next(procedure)
    with pytest.raises(TypeError, match="the reply to Watch"):
        procedure.send(None)
