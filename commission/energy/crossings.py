"""
The table of crossings: which energy states there are, the legal ways between them, and the evidence each way needs.

Clauses in brackets are of 29 CFR 1910.147; `machine` says the rules in words and is the only way through the table.
"""

from enum import StrEnum

import msgspec

from commission.energy.evidence import EnergyError


class EnergyState(StrEnum):
    """What energy is in the unit, as far as evidence goes."""

    LOCKED = "locked"
    PUMPING = "pumping"
    CONTROL = "control"
    LIVE = "live"
    IN_OPERATION = "in operation"
    UNKNOWN = "unknown"

    @property
    def hands_may_go_in(self) -> bool:
        """Whether a step inside covers or at the yoke may be asked for."""
        return self is EnergyState.LOCKED


class Subjects(StrEnum):
    """What a stage's fact has to be recorded for, one by one."""

    ONCE = "once"
    FIRST_SOURCES = "sources locked first"
    OTHER_SOURCES = "all other sources"
    OIL_VOLUMES = "oil volumes"
    CONTAINED_VOLUMES = "volumes that stay loaded"
    LOCKS_TO_CONTROL = "locks that come off for control"
    LOCKS_TO_LIVE = "locks that come off for live"
    ALL_LOCKS = "every lock that is on"
    LOCKS_TO_HOLD = "locks of control power, where power holds the dump"
    RELOCKED = "once, where locks go back on"
    PROCESS_EFFECT = "a process that the fail position disturbs"


class Stage(msgspec.Struct, frozen=True):
    """
    One piece of evidence of a crossing.

    Args:
        fact: Its name in the record.

        words: What is to be seen or done, for the screen; `{}` takes the subject's name.

        subjects: What it is recorded for.

        clause: Where the order comes from.

        ask: What is recorded with it: `word` (somebody says so), `reading`, `lock`, `count`, `place`, `names`, `meter`.
    """

    fact: str
    words: str
    subjects: Subjects = Subjects.ONCE
    clause: str = ""
    ask: str = "word"


class Crossing(msgspec.Struct, frozen=True):
    """A legal way from one state to another with its stages in order."""

    source: EnergyState
    target: EnergyState
    stages: tuple[Stage, ...]


_TOLD = Stage("affected people told", "Tell operator and controller what is about to happen", clause="(c)(9)")
_COUNTED = Stage("people counted", "Count everybody at the unit", clause="(e)(2)(i)", ask="count")

ISOLATION: tuple[Stage, ...] = (  # the whole lockout, in the order of the regulation
    Stage(
        "energies listed", "Read the list of this unit's energies aloud: type, size, how each is held", clause="(d)(1)"
    ),
    _TOLD,
    Stage(
        "process agreed",
        "Going to the fail position {}: upstream isolation locked shut, or who gave permission",
        Subjects.PROCESS_EFFECT,
        "rule R1",
        "names",
    ),
    Stage(
        "valve safe",
        "The valve is at its fail position, or held by an engineered block",
        clause="rule R1",
        ask="place",
    ),
    Stage("shut down", "Stop the unit in an orderly way; selector to OFF", clause="(d)(2)"),
    Stage("locked", "Lock and tag {}", Subjects.FIRST_SOURCES, "(d)(3), (d)(4)", "lock"),
    Stage(
        "seen above zero",
        "Read {} above zero, or prove its gauge with a test pressure",
        Subjects.OIL_VOLUMES,
        "rule R2",
        "reading",
    ),
    Stage("seen to fall", "Open the bleed of {} and see its gauge fall", Subjects.OIL_VOLUMES, "(d)(5)(i)", "reading"),
    Stage("locked", "Lock and tag {}", Subjects.OTHER_SOURCES, "(d)(3), (d)(4)", "lock"),
    Stage("zero", "Read zero on the gauge of {}; leave its bleed open", Subjects.OIL_VOLUMES, "(d)(5)(i)", "reading"),
    Stage("still loaded", "{}: contained, still loaded. Say so aloud", Subjects.CONTAINED_VOLUMES, "(d)(5)(i)"),
    Stage("no rise", "No rise on the gauge of {} in 5 minutes", Subjects.OIL_VOLUMES, "(d)(5)(ii)", "reading"),
    Stage(
        "proved dead",
        "Meter on a live source, on the dead terminals, on the live source again",
        clause="1910.333(b)(2)(iv)",
        ask="meter",
    ),
    Stage(
        "try-start failed",
        "Try to start: local open, local close, controller sends a command. Nothing moves",
        clause="(d)(6)",
    ),
    Stage("commands neutral", "Controller confirms that every output is back to neutral", clause="App. A, rule R6"),
)

_TO_PUMPING: tuple[Stage, ...] = (
    Stage("tools out", "Tools and hands out of the yoke", clause="(e)(1)"),
    _COUNTED,
    Stage(
        "dump held",
        "How the dump is held shut: blocked (on the temporary list), or by control power",
        clause="rule R3",
        ask="names",
    ),
    Stage(
        "lock removed",
        "Its owner removes the lock of {}: power holds the dump",
        Subjects.LOCKS_TO_HOLD,
        "(e)(3)",
        "lock",
    ),
    Stage("pump hand named", "Who works the hand pump and watches the stem", ask="names"),
)

_BACK_FROM_PUMPING: tuple[Stage, ...] = (
    Stage(
        "valve safe",
        "The valve is back at its fail position, or held by an engineered block",
        clause="rule R1",
        ask="place",
    ),
    Stage("seen to fall", "Open the bleed of {} and see its gauge fall", Subjects.OIL_VOLUMES, "(d)(5)(i)", "reading"),
    Stage("locked", "Lock and tag {} again", Subjects.OTHER_SOURCES, "(d)(3), (d)(4)", "lock"),
    Stage("zero", "Read zero on the gauge of {}; leave its bleed open", Subjects.OIL_VOLUMES, "(d)(5)(i)", "reading"),
    Stage("no rise", "No rise on the gauge of {} in 5 minutes", Subjects.OIL_VOLUMES, "(d)(5)(ii)", "reading"),
    Stage(
        "proved dead",
        "Meter on a live source, on {}, on the live source again",
        Subjects.RELOCKED,
        "1910.333(b)(2)(iv)",
        "meter",
    ),
    Stage("locks looked at", "Look at every lock: all still on", clause="(d)(6)"),
)

_TO_CONTROL: tuple[Stage, ...] = (
    Stage("tools out", "Tools out, parts intact, covers closed, nobody's hand inside", clause="(f)(1)(i), (e)(1)"),
    _COUNTED,
    Stage("commands neutral", "Controller confirms that every output is at neutral", clause="rule R6"),
    Stage("valve safe", "The valve is at its fail position and every gauge reads zero", clause="rule R3", ask="place"),
    Stage("lock removed", "Its owner removes the lock of {}", Subjects.LOCKS_TO_CONTROL, "(f)(1)(iii), (e)(3)", "lock"),
    _TOLD,
)

_TO_LIVE: tuple[Stage, ...] = (
    Stage("tools out", "Tools out, parts intact, guards on, covers closed", clause="(f)(1)(i), (e)(1)"),
    _COUNTED,
    Stage("bleeds shut", "Bleeds shut and capped", clause="(e)(1)"),
    Stage("lock removed", "Its owner removes the lock of {}", Subjects.LOCKS_TO_LIVE, "(f)(1)(iii), (e)(3)", "lock"),
    _TOLD,
    Stage("controller agrees", "Controller says that the unit may be energised", clause="(f)(1)(iv)", ask="names"),
)

_OPERATION_TO_LIVE: tuple[Stage, ...] = (
    Stage("permit named", "Permit to work for a test without hands in", clause="rule R3", ask="names"),
    Stage("controller agrees", "Controller gives the unit for the test", clause="rule R3", ask="names"),
    _COUNTED,
    Stage("barrier up", "Area barrier up, nobody inside", clause="rule R3"),
)

_TO_OPERATION: tuple[Stage, ...] = (
    Stage("put back", "Covers, bolts, seals, caps and vents as they belong; selector in REMOTE"),
    Stage("lock removed", "Its owner removes the lock of {}", Subjects.ALL_LOCKS, "(e)(3)", "lock"),
    _COUNTED,
    Stage("controller takes over", "Controller sees no alarm and the right position, and takes the unit", ask="names"),
)

_LOOK_AGAIN_LOCKED: tuple[Stage, ...] = (
    Stage("locks looked at", "Look at every lock on the list: all still on", clause="rule R3"),
    Stage(
        "valve safe",
        "The valve is at its fail position, or held by an engineered block",
        clause="rule R1",
        ask="place",
    ),
    Stage("zero", "Read zero on the gauge of {}", Subjects.OIL_VOLUMES, "rule R3", "reading"),
    _COUNTED,
)
_LOOK_AGAIN_CONTROL: tuple[Stage, ...] = (
    *_LOOK_AGAIN_LOCKED,
    Stage("commands neutral", "Controller confirms that every output is at neutral", clause="rule R6"),
)
_LOOK_AGAIN_LIVE: tuple[Stage, ...] = (
    Stage("locks looked at", "Walk round: no lock is on, nobody is at the unit", clause="rule R3"),
    _COUNTED,
    Stage(
        "controller agrees", "Controller says that the unit is energised and may stay so", clause="rule R3", ask="names"
    ),
)
_LOOK_AGAIN_OPERATION: tuple[Stage, ...] = (
    Stage("as operations left it", "Operator says that the unit is in operation and nobody works on it", ask="names"),
    Stage("locks looked at", "Walk round: note every lock, tag and temporary thing that is on", clause="rule R3"),
    _COUNTED,
)

_CONTROL_TO_LOCKED: tuple[Stage, ...] = (
    _TOLD,
    Stage(
        "valve safe",
        "The valve is still at its fail position, or held by an engineered block",
        clause="rule R1",
        ask="place",
    ),
    Stage("shut down", "Selector to OFF", clause="(d)(2)"),
    Stage("locked", "Lock and tag {}", Subjects.FIRST_SOURCES, "(d)(3), (d)(4)", "lock"),
    Stage("locked", "Lock and tag {}", Subjects.OTHER_SOURCES, "(d)(3), (d)(4)", "lock"),
    *ISOLATION[-6:],
)
"""Motor and oil stayed locked at zero in control: nothing is seen to fall, all the rest is proved again."""

_S = EnergyState
CROSSINGS: tuple[Crossing, ...] = (
    Crossing(_S.IN_OPERATION, _S.LOCKED, ISOLATION),
    Crossing(_S.LIVE, _S.LOCKED, ISOLATION),
    Crossing(_S.CONTROL, _S.LOCKED, _CONTROL_TO_LOCKED),
    Crossing(_S.LOCKED, _S.PUMPING, _TO_PUMPING),
    Crossing(_S.PUMPING, _S.LOCKED, _BACK_FROM_PUMPING),
    Crossing(_S.LOCKED, _S.CONTROL, _TO_CONTROL),
    Crossing(_S.CONTROL, _S.LIVE, _TO_LIVE),
    Crossing(_S.IN_OPERATION, _S.LIVE, _OPERATION_TO_LIVE),
    Crossing(_S.LIVE, _S.IN_OPERATION, _TO_OPERATION),
    Crossing(_S.UNKNOWN, _S.LOCKED, _LOOK_AGAIN_LOCKED),
    Crossing(_S.UNKNOWN, _S.CONTROL, _LOOK_AGAIN_CONTROL),
    Crossing(_S.UNKNOWN, _S.LIVE, _LOOK_AGAIN_LIVE),
    Crossing(_S.UNKNOWN, _S.IN_OPERATION, _LOOK_AGAIN_OPERATION),
)
"""
Every legal crossing. What is not here does not exist.

From unknown to locked: by the whole isolation where `Energy.was` does not support looking again, see `crossing_now`.
"""


def crossing(source: EnergyState, target: EnergyState) -> Crossing:
    """
    The way from one state to another.

    Raises:
        EnergyError: there is none; the message names where one may go instead.
    """
    for way in CROSSINGS:
        if way.source is source and way.target is target:
            return way
    ways = ", ".join(str(way.target) for way in CROSSINGS if way.source is source)
    raise EnergyError(f"there is no way from {source} to {target}; from {source} one goes to {ways}")
