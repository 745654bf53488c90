"""What the supervisor is told, what it tells, and how the loop of a motion is left."""

from collections.abc import Mapping
from typing import Generic, TypeVar

import msgspec

from commission.sample import Silence
from commission.sheet.decode import Readings
from commission.supervise.safe_end import SafeEndReport

R = TypeVar("R")


class MotionRefused(Exception):  # names what happened
    """The motion may not begin; nothing was sent. The message says why."""


class MotionOrder(msgspec.Struct, frozen=True, kw_only=True):
    """
    What to run and for which step.

    Args:
        run: Id of the run, unique in the job.

        step: Id of the step.

        procedure: Name of the procedure, as the record will replay it.

        arguments: Its arguments as text.

        as_found: Whether this is the first movement in the safety direction of a re-test (safety rule R21).

        by: Who said go.
    """

    run: str
    step: str
    procedure: str
    arguments: Mapping[str, str]
    as_found: bool = False
    by: str


class Ended(msgspec.Struct, Generic[R], frozen=True):
    """
    How a run ended.

    Args:
        how: finished, no test, aborted or stopped.

        reason: In words.

        safe_end: What became of the safe end.

        observed: What the procedure returned; None unless it finished.
    """

    how: str
    reason: str
    safe_end: SafeEndReport
    observed: R | None


class MotionView(msgspec.Struct, frozen=True):
    """
    What a screen shows of the motion that is open: the newest readings and how far the command has got.

    `command` is one of *sent*, *answered*, *received*, *moving*; only the last two count (safety rule R12). `said` is
    what the procedure has told the people at the valve so far, the newest last. `held_until_ns` is set while a valve
    that was stopped off its end can still be brought back by one key: until then, in wire time.
    """

    test: str
    step: str
    begun_ns: int
    latest: Readings | None = None
    silence: Silence | None = None
    command: str = ""
    ending: bool = False
    said: tuple[str, ...] = ()
    held_until_ns: int | None = None


class StopRequested(Exception):  # a way out of the loop, not a fault
    """Somebody stopped the motion."""


class Aborted(Exception):  # the same
    """A guard, a gap or a fault ended the motion."""
