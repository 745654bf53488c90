"""
Give a procedure the replies that a record holds, and get back what it observed.

A procedure has no clock and no input of its own, so the same replies make the same requests; where they do not, the
record and the program disagree, and that is said instead of a figure.
"""

from collections import deque
from typing import TypeVar

import msgspec

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
    Sent,
    Watch,
)
from commission.sample import Silence
from commission.sheet.decode import Readings

R = TypeVar("R")


class CannotReplay(Exception):  # it names what is said of a figure: cannot recompute
    """The procedure asks for something else than the record holds."""


class Recorded(msgspec.Struct, frozen=True):
    """
    The replies of one run.

    Args:
        seen: Samples and silences, in order.

        sent: Commands of the procedure, in order.

        answers: Answers in order, each with the number of the last sample that passed while it was asked.

        dwelt: Waits in order, likewise.
    """

    seen: tuple[Readings | Silence, ...]
    sent: tuple[Sent, ...] = ()
    answers: tuple[tuple[int, Answer], ...] = ()
    dwelt: tuple[tuple[int, Dwelt], ...] = ()


def replay(procedure: Procedure[R], recorded: Recorded) -> R:
    """
    Run a procedure on recorded replies to its end.

    Raises:
        CannotReplay: the record holds no reply for a request.
    """
    tape = _Tape(recorded)
    reply: Reply = None
    while True:
        try:
            request = procedure.send(reply)
        except StopIteration as done:
            return done.value  # type: ignore[no-any-return]  # StopIteration carries the generator's R
        reply = tape.reply_to(request)


class _Tape:
    """The replies, and how far they have been given."""

    def __init__(self, recorded: Recorded) -> None:
        self._seen = iter(recorded.seen)
        self._sent = iter(recorded.sent)
        self._answers = deque(recorded.answers)
        self._dwelt = iter(recorded.dwelt)
        self._number = 0

    def reply_to(self, request: Request) -> Reply:
        """The next reply for a request."""
        match request:
            case Begin() | Note():
                return None
            case Watch(asking=question):
                return self._answer_by_now(question) or self._next_seen()
            case Command(role=role):
                sent = next(self._sent, None)
                if sent is None or sent.role != role:
                    raise CannotReplay(f"the record holds no {role} at this place")
                return sent
            case Ask(id=name):
                sample, answer = self._answers.popleft() if self._answers else (0, None)
                if answer is None or answer.id != name:
                    raise CannotReplay(f"the record holds no answer to {name!r}")
                self._skip_to(sample)
                return answer
            case Dwell():
                sample, dwelt = next(self._dwelt, (0, None))
                if dwelt is None:
                    raise CannotReplay("the record holds no wait at this place")
                self._skip_to(sample)
                return dwelt

    def _answer_by_now(self, question: Ask | None) -> Answer | None:
        """The answer to an open question, where it came after the sample that was given last."""
        if question is None or not self._answers:
            return None
        sample, answer = self._answers[0]
        if (sample, answer.id) != (self._number, question.id):
            return None
        self._answers.popleft()
        return answer

    def _next_seen(self) -> Readings | Silence:
        item = next(self._seen, None)
        if item is None:
            raise CannotReplay(f"the record ends after sample {self._number}, and the procedure wants another")
        self._number = item.number
        return item

    def _skip_to(self, number: int) -> None:
        while self._number < number:
            self._next_seen()
