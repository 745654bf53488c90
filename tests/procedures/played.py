"""Plays a procedure to its end against a unit and the people beside it, without a line and without a supervisor."""

from typing import Any, Protocol

from commission.procedures.requests import Answer, Ask, Begin, Command, Note, Procedure, Reply, Request, Sent, Watch
from commission.sample import Silence
from commission.sheet.decode import Readings

MOST_REQUESTS = 500_000
"""Of a procedure that ends."""


class Site(Protocol):
    """What answers a procedure's requests, and keeps what it noted."""

    notes: list[str]

    def sample(self) -> Readings | Silence:
        """What is read next."""

    def while_asked(self, question: Ask | None) -> Answer | None:
        """What is said to a question that stays open while something is watched; None while nothing is."""

    def ask(self, question: Ask) -> Answer:
        """The answer to a question that is waited for."""

    def command(self, role: str, value: int) -> Sent:
        """What becomes of a command."""


class OnlyWatched:
    """A unit that nothing may be sent to."""

    def command(self, role: str, value: int) -> Sent:
        """It fails the test."""
        raise AssertionError(f"nothing may be sent: {role} {value}")


def play(procedure: Procedure[Any], site: Site) -> tuple[Any, Begin]:
    """Play a procedure to its end; what it returned, and what it began with."""
    reply: Reply = None
    begun: Begin | None = None
    for _ in range(MOST_REQUESTS):
        try:
            request: Request = procedure.send(reply)
        except StopIteration as done:
            assert begun is not None
            return done.value, begun
        match request:
            case Begin():
                begun, reply = request, None
            case Watch(asking=question):
                reply = site.while_asked(question) or site.sample()
            case Command(role=role, value=value):
                reply = site.command(role, value)
            case Ask():
                reply = site.ask(request)
            case Note(mark=mark):
                site.notes.append(mark)
                reply = None
    raise AssertionError(f"it never ends; noted last: {site.notes[-5:]}")
