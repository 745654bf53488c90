"""What becomes of one answer on its way: how tests of the link make a line misbehave."""

from collections.abc import Callable

import msgspec


class Fate(msgspec.Struct, frozen=True, kw_only=True):
    """
    What happens to one answer.

    Args:
        drop: It never comes.

        delay_s: It comes this much later, in wire time.

        exception: Answered with this exception code; the request is not carried out.

        alter: Changes the bytes of the finished frame, checksum included.

        wrong_id: It comes from the next unit identifier.

        echo: The request comes back before it.

        reset: The connection is cut instead; a serial line stays silent.

        neighbour: Another unit of the same address answers it, where there is one.
    """

    drop: bool = False
    delay_s: float = 0.0
    exception: int = 0
    alter: Callable[[bytes], bytes] | None = None
    wrong_id: bool = False
    echo: bool = False
    reset: bool = False
    neighbour: bool = False


FaultHook = Callable[[int, int], Fate]
"""Called with the number of the request (from 1, over all connections) and its function code."""

NO_FAULT = Fate()


def no_fault(_number: int, _function_code: int) -> Fate:
    """Every answer arrives as it was sent."""
    return NO_FAULT
