"""The three seconds before a repeated movement, counted aloud; any key cancels them (safety rule R13)."""

import asyncio
from collections.abc import Callable
from typing import Protocol

from commission.walk.confirm import COUNTDOWN_S


class Says(Protocol):
    """Shows what is counted."""

    def __call__(self, words: str, *, aloud: bool = False) -> None:
        """Show these words, with a beep where they are said aloud."""


class Countdown:
    """
    Counts, or does not.

    Args:
        say: Shows what is counted.
    """

    def __init__(self, say: Says) -> None:
        self._say = say
        self._task: asyncio.Task[None] | None = None

    @property
    def runs(self) -> bool:
        """Whether it counts now."""
        return self._task is not None

    def begin(self, then: Callable[[], None]) -> None:
        """Count down, then do this, unless it was cancelled."""
        self.cancel()
        self._task = asyncio.get_running_loop().create_task(self._count(then))

    def cancel(self) -> None:
        """Count no more; nothing is done."""
        task, self._task = self._task, None
        if task is not None:
            task.cancel()
            self._say("Cancelled. Nothing was sent.")

    async def _count(self, then: Callable[[], None]) -> None:
        for second in range(round(COUNTDOWN_S), 0, -1):
            self._say(f"MOVES IN {second} s. Any key cancels.", aloud=True)
            await asyncio.sleep(1.0)
        self._task = None
        self._say("")
        then()
