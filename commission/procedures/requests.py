"""
What a procedure may ask for, and what it is given.

A procedure is a generator: it yields one request and gets one reply. Between two yields there is only arithmetic; there
is no `yield` in an `except` or `finally`; its only clock is `readings.at_ns`. So it reads like the trade's own
instruction, runs in tests at any speed, and replays from the record alone.

    Begin     first, if anything will be commanded          -> None
    Watch     exactly the next sample, none skipped         -> Readings | Silence; with a question open, or Answer
    Command   write one command point that Begin named      -> Sent
    Ask       a question to a person; guards go on          -> Answer
    Dwell     wait; nothing is commanded in it              -> Dwelt
    Note      a mark in the record                          -> None

Guards (abort conditions) are pure functions of the readings that the supervisor runs before the procedure sees them.
"""

from collections.abc import Callable, Generator
from enum import StrEnum
from typing import TypeVar

import msgspec

from commission.sample import Outcome, Silence
from commission.sheet.decode import Readings


class SafeEnd(StrEnum):
    """What ends a motion safely (safety rule R10), agreed with the controller beforehand."""

    RETURN = "return"
    STOP = "stop"
    SEND_NOTHING = "send nothing"


class CommandValue(msgspec.Struct, frozen=True):
    """One command that a procedure may give: the role of its point and the value written."""

    role: str
    value: int = 1


class SetPoints(msgspec.Struct, frozen=True, kw_only=True):
    """
    Set points that a procedure may give (safety rule R14), raw as on the wire.

    Args:
        low: The least.

        high: The largest.

        step: The largest change from one to the next.

        per_s: The fastest change, in raw units a second of unit time.

        near: How near the first one has to be to the measured position.

        scale: Raw units of full travel.
    """

    low: int
    high: int
    step: int
    per_s: float
    near: int
    scale: float


SET_POINT = "set_point"
"""The one role whose values are not named one by one."""


class HandBack(msgspec.Struct, frozen=True):
    """How the source of the set point is handed back after a hold, and the bit that shows it (safety rule R14)."""

    command: CommandValue
    seen_role: str
    seen_as: bool


class Tripped(msgspec.Struct, frozen=True):
    """
    A guard has fired.

    Args:
        reason: In words, as `selector is no longer in remote`.

        taken_over: The valve is somebody else's now (ESD, trip, LOCAL, OFF, leaving automatic): nothing may be sent.
    """

    reason: str
    taken_over: bool = False


Guard = Callable[[Readings], Tripped | None]


class Begin(msgspec.Struct, frozen=True):
    """
    What is about to be done.

    Args:
        test: Identifies the test, as `K1 closing 2`.

        commands: Every command that may be given.

        safe_end: What ends it safely.

        safe_command: The command that carries out `return` or `stop`; None for `send nothing`.

        guards: Abort conditions by name; run in this order on each sample.

        roles: The points to watch, for the fastest possible read plan.

        longest_s: Longest legal run; leave outlives it.

        neighbours: Read the addresses beside the points too, and go on where one of them is refused: for a test of the
            map itself, which must see what lies next to where the sheet looks.

        moves: Whether the valve moves in it, commanded from here or not.

        only_waits: Nothing is commanded and nothing expected but time, so a practice unit's may be skipped.

        gap_s: How long the unit may be silent before the motion is aborted, in wire time.

        stop_command: What the stop key sends where that is not the safe end: it stops, where the safe end returns.

        own_guard_s: How long after its command the unit's own guard ends the motion at the latest, in unit time.

        set_points: Set points that may be given besides the commands; their first is the measured position.

        hand_back: What follows a `stop` that was seen received, and has to be read back.

        home_within_s: After a `return` was seen received, the valve is watched home for so long, in unit time.
    """

    test: str
    commands: tuple[CommandValue, ...]
    safe_end: SafeEnd
    safe_command: CommandValue | None
    guards: dict[str, Guard]
    roles: tuple[str, ...]
    longest_s: float
    gap_s: float = 2.0
    neighbours: bool = False
    moves: bool = True
    only_waits: bool = False
    stop_command: CommandValue | None = None
    own_guard_s: float | None = None
    home_within_s: float | None = None
    set_points: SetPoints | None = None
    hand_back: HandBack | None = None

    @property
    def agreed_end(self) -> SafeEnd | None:
        """The safe end as the stop field says it; None where nothing moves and nothing is commanded."""
        return self.safe_end if self.moves or self.commands else None


class Command(msgspec.Struct, frozen=True):
    """Give one of the commands that `Begin` named."""

    role: str
    value: int = 1


class Ask(msgspec.Struct, frozen=True):
    """
    A question to a person.

    `kind` is `text`, `number`, `yes`, `go` (the one key that lets a valve move on, safety rule R13) or `key` (any key,
    as it cancels a countdown). `target` is the number that `text` asks people to make, in `unit`, as a pressure.
    """

    id: str
    text: str
    kind: str = "text"
    unit: str = ""
    target: float | None = None


class Watch(msgspec.Struct, frozen=True, repr_omit_defaults=True):
    """
    The next sample.

    Args:
        asking: A question that stays open from one `Watch` to the next while samples go on coming; its answer, once
            given, is the reply instead of a sample. Any other request takes it back.
    """

    asking: Ask | None = None


class Dwell(msgspec.Struct, frozen=True):
    """Wait so many seconds of unit time; samples are stored and guarded meanwhile."""

    seconds: float


class Note(msgspec.Struct, frozen=True, repr_omit_defaults=True):
    """A mark in the record, as `returning early`; a loud one is for the people at the valve: beeped, and shown big."""

    mark: str
    loud: bool = False


class Sent(msgspec.Struct, frozen=True):
    """
    A command has been put on the wire.

    Args:
        role: Role of the command point.

        value: Value written.

        at_ns: Unit time at which it reached the unit, with `half_width_ns`.

        outcome: What the unit answered.

        reason: For refused and unanswered, in words.

        code: The exception code of a refusal; 0 where the unit gave none.
    """

    role: str
    value: int
    at_ns: int
    half_width_ns: int
    outcome: Outcome
    reason: str = ""
    code: int = 0


class Answer(msgspec.Struct, frozen=True):
    """What a person said; `value` is the number in the unit asked for, where one was."""

    id: str
    text: str
    by: str
    at_ns: int
    value: float | None = None


class Dwelt(msgspec.Struct, frozen=True):
    """The wait is over; `shortened` where a practice unit's time was skipped."""

    seconds: float
    shortened: bool = False


Request = Begin | Watch | Command | Ask | Dwell | Note
Reply = Readings | Silence | Sent | Answer | Dwelt | None

R = TypeVar("R")

Procedure = Generator[Request, Reply, R]
"""A procedure that returns an R: what was observed, ready for `analysis`."""
