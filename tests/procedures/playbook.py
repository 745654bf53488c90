"""
A playbook: what a procedure must ask for and what it is given, in one readable list.

    Playbook(full_stroke(...)) << begin(SafeEnd.STOP) << Watch() >> sample << Command("command_close") >> sent

`<<` states the next request, `>>` gives its reply (None where none is stated). A request is an exact one, a type, or a
predicate with words. `feed` answers `Watch` with one item after another for as long as the procedure goes on watching.
A playbook that is not finished with `returned()` fails the test that made it (fixture `playbooks`).
"""

from collections.abc import Callable, Iterable
from typing import Any, Generic, TypeVar

from commission.procedures.requests import Procedure, Reply, Request, Watch

R = TypeVar("R")

Expected = Request | type[Any] | Callable[[Request], bool]


class Playbook(Generic[R]):
    """One procedure played against expectations."""

    unfinished: "list[Playbook[Any]]" = []  # noqa: RUF012  # shared on purpose: the fixture empties it

    def __init__(self, procedure: Procedure[R]) -> None:
        self._procedure = procedure
        self._asked: Request | None = None
        self._returned: R | None = None
        self._done = False
        self._answered = True
        self.requests: list[Request] = []
        Playbook.unfinished.append(self)
        self._step(None, first=True)

    def __lshift__(self, expected: Expected) -> "Playbook[R]":
        """The procedure now asks for this."""
        if not self._answered:
            self._step(None)
        assert not self._done, f"\n    expected  {_words(expected)}\n -> returned  {self._returned!r}"
        assert self._asked is not None
        assert _matches(expected, self._asked), f"\n    expected  {_words(expected)}\n -> asked     {self._asked!r}"
        self._answered = False
        return self

    def __rshift__(self, reply: Reply) -> "Playbook[R]":
        """It is given this."""
        assert not self._answered, f"\n    given     {reply!r}\n -> but no request was stated before it"
        self._step(reply)
        return self

    def feed(self, items: Iterable[Reply]) -> "Playbook[R]":
        """Give one item for each `Watch`, until the procedure asks for something else or the items are used up."""
        if not self._answered:
            self._step(None)
        for item in items:
            if self._done or not isinstance(self._asked, Watch):
                break
            self._step(item)
        return self

    def returned(self) -> R:
        """What the procedure returned; fails where it still asks for something."""
        if not self._answered and not self._done:
            self._step(None)
        assert self._done, f"\n    expected  the end\n -> asked     {self._asked!r}"
        Playbook.unfinished.remove(self)
        assert self._returned is not None
        return self._returned

    def _step(self, reply: Reply, *, first: bool = False) -> None:
        try:
            self._asked = next(self._procedure) if first else self._procedure.send(reply)
            self.requests.append(self._asked)
        except StopIteration as end:
            self._done, self._returned, self._asked = True, end.value, None
        self._answered = True


def _matches(expected: Expected, asked: Request) -> bool:
    if isinstance(expected, type):
        return isinstance(asked, expected)
    return expected(asked) if callable(expected) else expected == asked


def _words(expected: Expected) -> str:
    if isinstance(expected, type):
        return expected.__name__
    return (expected.__doc__ or "a request") if callable(expected) else repr(expected)
