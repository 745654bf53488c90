"""A procedure given recorded replies: the same requests, or it is said where they differ."""

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.procedures.replay import CannotReplay, Recorded, replay
from commission.procedures.requests import (
    Answer,
    Ask,
    Begin,
    Command,
    Dwell,
    Dwelt,
    Note,
    Procedure,
    Reply,
    Request,
    SafeEnd,
    Sent,
    Watch,
)
from commission.sample import Outcome, Silence
from commission.sheet.decode import Readings


def reading(number: int) -> Readings:
    """An empty sample with its number."""
    return Readings(number, number, {})


ANSWER = Answer("stem", "closed", "T", 7)
SENT = Sent("command_close", 1, 5, 1, Outcome.ANSWERED)


def everything() -> Procedure[list[Reply]]:
    """Every kind of request once."""
    yield Begin("a test", (), SafeEnd.SEND_NOTHING, None, {}, (), 1.0)
    replies = [(yield Watch())]
    replies.append((yield Command("command_close")))
    replies.append((yield Ask("stem", "What does it show?")))
    yield Note("between")
    replies.append((yield Dwell(2.0)))
    replies.append((yield Watch()))
    return replies


def test_replies_come_back_in_their_order() -> None:
    """Samples that passed during a question and a wait are not handed out afterwards; a silence is a reply like any."""
    seen: tuple[Readings | Silence, ...] = (*(reading(number) for number in range(1, 7)), Silence(7, 0, 9, "no answer"))
    recorded = Recorded(seen, (SENT,), ((3, ANSWER),), ((6, Dwelt(2.0)),))
    assert replay(everything(), recorded) == [reading(1), SENT, ANSWER, Dwelt(2.0), seen[-1]]


@pytest.mark.parametrize(
    ("recorded", "words"),
    [
        (Recorded(()), "the record ends after sample 0"),
        (Recorded((reading(1),)), "holds no command_close at this place"),
        (Recorded((reading(1),), (Sent("command_open", 1, 5, 1, Outcome.ANSWERED),)), "holds no command_close"),
        (Recorded((reading(1),), (SENT,)), "holds no answer to 'stem'"),
        (Recorded((reading(1),), (SENT,), ((1, Answer("other", "", "T", 0)),)), "holds no answer to 'stem'"),
        (Recorded((reading(1),), (SENT,), ((9, ANSWER),)), "ends after sample 1"),
        (Recorded((reading(1),), (SENT,), ((1, ANSWER),)), "holds no wait at this place"),
    ],
)
def test_record_that_lacks_a_reply_says_which(recorded: Recorded, words: str) -> None:
    """Missing or another: no figure is made up from it."""
    with pytest.raises(CannotReplay, match=words):
        replay(everything(), recorded)


def asks_and_watches() -> Procedure[list[Reply]]:
    """One question that stays open over several samples."""
    yield Begin("a test", (), SafeEnd.SEND_NOTHING, None, {}, (), 1.0)
    question = Ask("stem", "What does it show?")
    replies: list[Reply] = []
    while not replies or not isinstance(replies[-1], Answer):
        replies.append((yield Watch(question)))
    replies.append((yield Watch()))
    return replies


def test_an_open_question_is_answered_between_the_samples_it_came_between() -> None:
    """The answer replaces the sample after the one it came after; what belongs to another question is not taken."""
    recorded = Recorded(tuple(reading(number) for number in range(1, 5)), (), ((2, ANSWER),))
    assert replay(asks_and_watches(), recorded) == [reading(1), reading(2), ANSWER, reading(3)]
    other = Recorded((reading(1),), (), ((1, Answer("other", "", "T", 0)),))
    with pytest.raises(CannotReplay, match="ends after sample 1"):
        replay(asks_and_watches(), other)


@given(st.lists(st.sampled_from(["watch", "command", "ask", "dwell", "note"]), max_size=30), st.data())
def test_whatever_was_performed_replays_to_the_same(script: list[str], data: st.DataObject) -> None:
    """Performed once with replies as a supervisor gives them, recorded, and replayed: the same replies in all."""
    passed: Callable[[], int] = lambda: data.draw(st.integers(0, 3))  # noqa: E731  # a draw with a name
    seen: list[Readings | Silence] = []
    sent: list[Sent] = []
    answers: list[tuple[int, Answer]] = []
    dwelt: list[tuple[int, Dwelt]] = []
    given_: list[Reply] = []

    def pass_samples(count: int) -> None:
        seen.extend(reading(len(seen) + 1) for _ in range(count))

    for step in script:
        match step:
            case "watch":
                pass_samples(1)
                given_.append(seen[-1])
            case "command":
                sent.append(Sent("command_open", 1, len(seen), 1, Outcome.ANSWERED))
                given_.append(sent[-1])
            case "ask":
                pass_samples(passed())
                answers.append((len(seen), Answer("q", "", "T", len(seen))))
                given_.append(answers[-1][1])
            case "dwell":
                pass_samples(passed())
                dwelt.append((len(seen), Dwelt(1.0)))
                given_.append(dwelt[-1][1])
            case _:
                given_.append(None)
    requests: dict[str, Request] = {
        "watch": Watch(),
        "command": Command("command_open"),
        "ask": Ask("q", "?"),
        "dwell": Dwell(1.0),
    }

    def scripted() -> Procedure[list[Reply]]:
        replies = []
        for step in script:
            replies.append((yield requests.get(step, Note("mark"))))  # noqa: PERF401  # a yield in a list is no list
        return replies

    recorded = Recorded(tuple(seen), tuple(sent), tuple(answers), tuple(dwelt))
    assert replay(scripted(), recorded) == given_
