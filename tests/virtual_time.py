"""
Virtual time: an event loop that jumps to its next timer when nothing is ready, over real sockets.

Both ends of a Modbus connection run in the one loop, so five minutes of polling take half a second and no time-out is
false. Whoever stands for something slow (the unit's turnaround, the line's bytes) must sleep, or latency is zero.
"""

import asyncio
import os
import select
import selectors
from collections.abc import Callable, Coroutine
from datetime import UTC, datetime, timedelta
from typing import Any, TypeVar

from commission.clock import Clock

T = TypeVar("T")

IN_FLIGHT_S = 0.0002
"""So long a pseudo-terminal is looked at once more before time jumps: the kernel hands its bytes on when it likes."""

HANDED_S = 0.00002
"""So long sockets are: on loopback bytes are handed on as they are sent, unless that processor has other work."""

_START = datetime(2026, 5, 12, 6, 40, tzinfo=UTC)


class _JumpingSelector(selectors.DefaultSelector):
    """Asks the sockets first; where they are silent, jumps the clock instead of waiting."""

    loop: "VirtualLoop"

    def __init__(self) -> None:
        super().__init__()
        self._terminals: set[int] = set()

    def register(self, fileobj: Any, events: int, data: Any = None) -> selectors.SelectorKey:
        """Watch one more; remembered where it is a terminal."""
        key = super().register(fileobj, events, data)
        if os.isatty(key.fd):
            self._terminals.add(key.fd)
        return key

    def unregister(self, fileobj: Any) -> selectors.SelectorKey:
        """Watch it no longer."""
        key = super().unregister(fileobj)
        self._terminals.discard(key.fd)
        return key

    def select(self, timeout: float | None = None) -> list[tuple[selectors.SelectorKey, int]]:
        """Ready sockets at once, or none after moving virtual time by `timeout`."""
        ready = super().select(0)
        if ready or timeout == 0:
            return ready
        if any(busy() for busy in self.loop.real_work):
            return super().select(0.002)
        if timeout is None:
            return super().select(0.05)
        self._let_bytes_arrive()
        ready = super().select(0)
        if not ready:
            self.loop.jump(timeout)
        return ready

    def _let_bytes_arrive(self) -> None:
        """Bytes on loopback may still be in flight; `select` waits in microseconds where epoll rounds up to 1 ms."""
        if hasattr(self, "fileno"):
            select.select([self.fileno()], [], [], IN_FLIGHT_S if self._terminals else HANDED_S)


class VirtualLoop(asyncio.SelectorEventLoop):
    """
    An event loop whose clock jumps when idle.

    While one of `real_work` says that it is busy (a thread that writes to a real disk), the clock stands still.
    """

    def __init__(self) -> None:
        self._now_s = 1000.0
        self.real_work: list[Callable[[], bool]] = []
        selector = _JumpingSelector()
        selector.loop = self
        super().__init__(selector)

    def time(self) -> float:
        """Virtual seconds."""
        return self._now_s

    def jump(self, seconds: float) -> None:
        """Move virtual time forward."""
        self._now_s += max(seconds, 1e-6)


def virtual_clock(loop: asyncio.AbstractEventLoop | None = None) -> Clock:
    """A `Clock` on the running virtual loop; never spins."""
    running = loop or asyncio.get_running_loop()
    return Clock(
        wire_ns=lambda: round(running.time() * 1e9),
        utc=lambda: _START + timedelta(seconds=running.time() - 1000.0),
        spin_s=0.0,
    )


def run_virtual(main: Coroutine[Any, Any, T]) -> T:
    """Run a coroutine to its end in a fresh virtual loop; tasks left over fail the test."""
    with asyncio.Runner(loop_factory=VirtualLoop) as runner:
        return runner.run(_no_task_left(main))


async def _no_task_left(main: Coroutine[Any, Any, T]) -> T:
    before = asyncio.all_tasks()
    returned = await main
    left = asyncio.all_tasks() - before - {asyncio.current_task()}
    assert not left, f"tasks left behind: {left}"
    return returned
