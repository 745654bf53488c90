"""
Whose turn it is on the wire: make-safe before command before read, and first come first served within a lane.

The wire carries one exchange at a time. Whoever waits for the quiet time waits without holding the turn, so that a
make-safe write never stands behind somebody who is only waiting.
"""

import asyncio
import heapq
from enum import IntEnum
from itertools import count


class Lane(IntEnum):
    """The three lanes, most urgent first."""

    MAKE_SAFE = 0
    COMMAND = 1
    READ = 2


class Lanes:
    """The single turn of one wire."""

    def __init__(self) -> None:
        self._waiting: list[tuple[Lane, int, asyncio.Future[None]]] = []
        self._order = count()
        self._taken = False

    async def acquire(self, lane: Lane) -> None:
        """Wait for the turn."""
        if not self._taken:
            self._taken = True
            return
        turn: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        heapq.heappush(self._waiting, (lane, next(self._order), turn))
        try:
            await turn
        except asyncio.CancelledError:
            if turn.done() and not turn.cancelled():
                self.release()  # it was given to us while we were being cancelled
            raise

    def release(self) -> None:
        """Give the turn to the most urgent that waits."""
        while self._waiting:
            turn = heapq.heappop(self._waiting)[2]
            if not turn.done():
                turn.set_result(None)
                return
        self._taken = False
