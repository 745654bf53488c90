"""Small procedures, for what no stroke does: asking, dwelling, failing, asking for what was not named."""

from collections.abc import Generator
from typing import Any

from commission.procedures.requests import (
    Answer,
    Ask,
    Begin,
    Command,
    CommandValue,
    Dwell,
    Guard,
    Note,
    Procedure,
    Reply,
    Request,
    SafeEnd,
    Watch,
)
from commission.sample import Silence
from commission.sheet.decode import Readings

STOP = CommandValue("command_stop")
ROLES = ("travel", "open_limit", "closed_limit", "motor_running", "esd_healthy", "remote")


def begin(
    *commands: str, guards: dict[str, Guard] | None = None, safe_end: SafeEnd = SafeEnd.STOP, **more: Any
) -> Begin:
    """A beginning that names these commands."""
    return Begin(
        test="a small test",
        commands=tuple(CommandValue(role) for role in commands),
        safe_end=safe_end,
        safe_command=more.pop("safe_command", STOP if safe_end is SafeEnd.STOP else None),
        guards=guards or {},
        roles=ROLES,
        longest_s=60.0,
        **more,
    )


def looks(samples: int = 3) -> Procedure[list[int]]:
    """Watches a few samples; their numbers."""
    yield begin()
    numbers = []
    for _ in range(samples):
        seen = yield Watch()
        assert isinstance(seen, Readings | Silence)
        numbers.append(seen.number)
    return numbers


def asks(dwell_s: float = 1.0) -> Procedure[tuple[Reply, ...]]:
    """Asks somebody, waits, looks once more."""
    yield begin()
    answer = yield Ask("stem", "What does the stem mark show?")
    dwelt = yield Dwell(dwell_s)
    seen = yield Watch()
    return answer, dwelt, seen


def watches_asking(questions: int = 2) -> Procedure[tuple[int, tuple[str, ...]]]:
    """Watches with a question open, tells people what it was, and asks another; how many samples passed meanwhile."""
    yield begin()
    passed, said = 0, []
    for number in range(questions):
        while not isinstance(reply := (yield Watch(Ask(f"q{number}", "Turned?"))), Answer):
            passed += 1
        said.append(reply.id)
        yield Note(f"heard {reply.id}", loud=True)
    yield Watch(Ask("taken back", "Never mind"))
    yield Watch()
    return passed, tuple(said)


def closes(then: Generator[Request, Reply, Any], first: Begin | None = None) -> Procedure[Any]:
    """Commands a closing and goes on with something else."""
    yield first or begin("command_close")
    yield Command("command_close")
    return (yield from then)


def watches_for_ever() -> Generator[Request, Reply, None]:
    """Goes on watching."""
    while True:
        yield Watch()


def fails(after: int = 30) -> Generator[Request, Reply, None]:
    """Has a fault in it."""
    for _ in range(after):
        yield Watch()
    raise ZeroDivisionError("a fault of the procedure")


def stubborn() -> Generator[Request, Reply, None]:
    """Breaks the rule: yields while it is being closed."""
    try:
        while True:
            yield Watch()
    finally:
        yield Note("one more thing")


def asks_for_ever() -> Generator[Request, Reply, Answer]:
    """Asks somebody who never answers."""
    answer = yield Ask("never", "Is it there yet?")
    assert isinstance(answer, Answer)
    return answer
