"""
Holds a visit while a face talks: signals, a closed terminal, a failing face and a late wake-up all become stops.

The visit ends only after the safe end was sent and read back; the face is a task that may die at any moment.
"""

import asyncio
import contextlib
import signal
from collections.abc import Coroutine, Iterator
from types import FrameType
from typing import Any, Protocol

from commission.cli.aside import written_aside
from commission.clock import Clock
from commission.supervise import watchdog

_NAMES = {"SIGINT": "the keyboard", "SIGTERM": "the system", "SIGHUP": "a closed terminal", "SIGBREAK": "the keyboard"}


class Held(Protocol):
    """What is held while a face talks: a visit, or a desk that may have one open."""

    @property
    def clock(self) -> Clock:
        """The session's clocks."""
        ...

    def stop(self, by: str, reason: str) -> bool:
        """Stop the open motion; whether there was one."""
        ...

    def was_away(self, lost_s: float) -> None:
        """The program was not awake for so long."""
        ...

    async def close(self, reason: str) -> None:
        """End safely."""
        ...


class Ended(Exception):  # an ending, not a fault
    """The program was told to end, and by what."""


async def hold(visit: Held, face: Coroutine[Any, Any, int]) -> int:
    """
    Run a face on a visit; its status. The visit is closed when this returns, whatever happened.

    Raises:
        Ended: a signal came.

        Exception: what the face raised, after the visit was closed safely.
    """
    loop = asyncio.get_running_loop()
    told: asyncio.Future[str] = loop.create_future()
    speaking = loop.create_task(face)
    watching = loop.create_task(watchdog.watch(visit.clock, visit.was_away))
    with written_aside(), _signals(loop, told, visit):
        try:
            waited: set[asyncio.Future[Any]] = {speaking, told}
            await asyncio.wait(waited, return_when=asyncio.FIRST_COMPLETED)
            reason = told.result() if told.done() else _how_left(speaking)
            _say_what_the_unit_will_do(visit)
            await visit.close(reason)
        finally:
            for task in (speaking, watching):
                task.cancel()
            await asyncio.gather(speaking, watching, return_exceptions=True)
    if told.done():
        raise Ended(told.result())
    return speaking.result()


def _say_what_the_unit_will_do(visit: Held) -> None:
    from commission.cli import connecting  # noqa: PLC0415  # a face may come to its first paint without a visit
    from commission.visit import Visit  # noqa: PLC0415  # as above

    if isinstance(visit, Visit):
        connecting.say_what_the_unit_will_do(visit)


def _how_left(speaking: "asyncio.Task[int]") -> str:
    """Why the face has ended, for the record."""
    from commission.face.dialogue import Left  # noqa: PLC0415  # as above

    error = None if speaking.cancelled() else speaking.exception()
    return "the visit was left" if error is None or isinstance(error, Left) else f"what is shown has failed: {error}"


@contextlib.contextmanager
def _signals(loop: asyncio.AbstractEventLoop, told: "asyncio.Future[str]", visit: Held) -> Iterator[None]:
    """
    Signals stop what moves at once and then end the visit; a keyboard interrupt in a motion only stops it.

    `signal.signal` and not the loop's own handlers, because those do not exist on every system.
    """

    def end(words: str, *, keyboard: bool) -> None:
        if visit.stop(words, "stopped") and keyboard:
            return
        if not told.done():
            told.set_result(f"ended by {words}")

    def handler(number: int, _frame: FrameType | None) -> None:
        name = signal.Signals(number).name
        keyboard = name in ("SIGINT", "SIGBREAK")
        loop.call_soon_threadsafe(lambda: end(_NAMES[name], keyboard=keyboard))

    numbers = [getattr(signal, name) for name in _NAMES if hasattr(signal, name)]
    before = {number: signal.signal(number, handler) for number in numbers}
    try:
        yield
    finally:
        for number, old in before.items():
            signal.signal(number, old)
