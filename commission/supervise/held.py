"""
After the stop key in a test whose safe end is the return: the valve stands off its end, and the test stays open.

Return stays allowed until its test has ended (safety rule R9), so for a minute one key still brings the valve back.
After that people may have come nearer: the way back is then a movement of its own, with count and go.
"""

import asyncio
import contextlib
from collections.abc import Callable

from commission.clock import NS_PER_S, Clock
from commission.procedures.requests import Begin
from commission.supervise.safe_end import AGAIN_S, SafeEndReport, SafeEndSeen, taken_over_by
from commission.supervise.watching import Watching

HELD_S = 60.0
"""How long the return stays one key away after a stop was confirmed, in wire time (common practice, no source)."""


async def hold(
    begin: Begin,
    clock: Clock,
    watching: Watching,
    stopped: SafeEndReport,
    once_more: asyncio.Event,
    goes_on: Callable[[], bool],
) -> SafeEndReport:
    """
    Watch a valve that was stopped until somebody asks for more, or nobody has for a minute.

    Args:
        begin: What the motion began with.

        clock: Wire time.

        watching: Samples.

        stopped: How the stop was confirmed.

        once_more: Ends the watching: a key was pressed.

        goes_on: Whether there is still leave, and a program to wait in.

    Returns:
        As confirmed; *withheld* where the valve was taken over meanwhile.
    """
    until_ns = clock.wire_ns() + round(HELD_S * NS_PER_S)
    while clock.wire_ns() < until_ns and not once_more.is_set() and goes_on():
        before = watching.latest
        with contextlib.suppress(Exception):  # what was seen is remembered before it is recorded
            await watching.next(wait_s=AGAIN_S)
        latest = watching.latest
        if latest is not None and latest is not before and (taken_over := taken_over_by(begin, latest)):
            return SafeEndReport(SafeEndSeen.WITHHELD, taken_over)
    return stopped
