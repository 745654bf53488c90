"""
The energy states of a unit, and what must be seen before it may pass from one to another.

The rules, in words (safety rules R1 to R6; order after 29 CFR 1910.147 (d), (e) and (f)(1)):

* A state is believed because evidence agrees, not because a box was ticked. Each crossing lists its evidence in
  stages; a fact is taken only when every earlier stage is complete, so the order of the regulation cannot be skipped.
* Locked: the valve is at its fail position or engineered-blocked; motor and heater are locked first, with control still
  on, so that each oil volume is seen above zero and seen to fall; then everything else is locked, each volume is read
  zero with its bleed left open, nothing rises in five minutes, a meter proves dead, a try-start fails and its commands
  are put back to neutral.
* A reading from an unpowered unit, a stale one, or one never seen above zero is no reading, never zero.
* Nobody's lock is removed by anybody else; a state with power is not entered while a lock on it is recorded. Only the
  upstream isolation of a normally closed vent stays locked shut while it is live (rule R1).
* Unknown is where a new job, a restart, a closed lid, a long gap, a shift change and a gas alarm lead. It counts as
  live for hands and as locked for writes, and is left only by looking again: locks, gauges, people. Looking again leads
  back to locked or control only where evidence had led there before and no lock has changed since; otherwise locked is
  reached by the whole isolation, in which a lock that is still on is not asked for twice.
* In operation → live → in operation without a lockout exists for a test that needs no hands in.

`CROSSINGS` is the table; the functions below it are the only way through it. An illegal act raises and changes nothing.
"""

from collections.abc import Mapping
from enum import StrEnum

import msgspec

from commission.energy.evidence import EnergyError, Fact, check
from commission.sheet import FailEffect, Sheet
from commission.sheet.model import Source


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


class Need(msgspec.Struct, frozen=True):
    """One fact that a crossing still needs: a stage applied to one subject of this unit's sheet."""

    fact: str
    subject: str
    words: str
    ask: str
    clause: str
    stage: int


class Lock(msgspec.Struct, frozen=True):
    """One personal lock on one isolating device."""

    source: str
    number: str
    by: str
    at_utc: str


class Energy(msgspec.Struct, frozen=True, kw_only=True):
    """
    Where the unit stands.

    Args:
        state: The state that evidence supports.

        by: Whose word it is.

        at_utc: When it was entered.

        reason: Why it is unknown, where it is.

        target: The state being crossed to, or None.

        facts: Evidence collected for the crossing under way.

        locks: Locks on now, by source id.

        generation: Counts every energy and lock event; leave given in another generation is stale.

        people: Count of people at the last count, with its time in `counted_utc`.

        was: While unknown: the last state that evidence supported, or None where a lock has changed since.
    """

    state: EnergyState = EnergyState.UNKNOWN
    by: str = ""
    at_utc: str = ""
    reason: str = "a new job"
    target: EnergyState | None = None
    facts: tuple[Fact, ...] = ()
    locks: Mapping[str, Lock] = {}
    generation: int = 0
    people: int | None = None
    counted_utc: str = ""
    was: EnergyState | None = None


_TOLD = Stage("affected people told", "Tell operator and controller what is about to happen", clause="(c)(9)")
_COUNTED = Stage("people counted", "Count everybody at the unit", clause="(e)(2)(i)", ask="count")

_ISOLATION: tuple[Stage, ...] = (
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
    Stage("zero", "Read zero on the gauge of {}; leave its bleed open", Subjects.OIL_VOLUMES, "(d)(5)(i)", "reading"),
    Stage("no rise", "No rise on the gauge of {} in 5 minutes", Subjects.OIL_VOLUMES, "(d)(5)(ii)", "reading"),
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
    *_ISOLATION[-6:],
)
"""Motor and oil stayed locked at zero in control: nothing is seen to fall, all the rest is proved again."""

_S = EnergyState
CROSSINGS: tuple[Crossing, ...] = (
    Crossing(_S.IN_OPERATION, _S.LOCKED, _ISOLATION),
    Crossing(_S.LIVE, _S.LOCKED, _ISOLATION),
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

_LOCK_FACTS = frozenset({"locked", "lock removed"})


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


def crossing_now(energy: Energy, target: EnergyState) -> Crossing:
    """
    The way to a state from where the unit stands, with what is known of how it came there.

    Raises:
        EnergyError: there is none, or control is to be looked at again although nothing supports it.
    """
    way = crossing(energy.state, target)
    if energy.state is not EnergyState.UNKNOWN:
        return way
    if target is EnergyState.LOCKED and energy.was not in (EnergyState.LOCKED, EnergyState.PUMPING):
        return Crossing(way.source, way.target, _ISOLATION)
    if target is EnergyState.CONTROL and energy.was is not EnergyState.CONTROL:
        raise EnergyError("control is entered from locked; it was not where evidence had led before")
    return way


def begin(energy: Energy, target: EnergyState) -> Energy:
    """
    Start collecting evidence for a crossing. The state itself does not change yet, but leave given before is stale.

    Raises:
        EnergyError: as for `crossing_now`.
    """
    crossing_now(energy, target)
    return msgspec.structs.replace(energy, target=target, facts=(), generation=energy.generation + 1)


def needs(energy: Energy, sheet: Sheet) -> tuple[Need, ...]:
    """All that the crossing under way needs for this unit, in order, already recorded or not."""
    if energy.target is None:
        return ()
    way = crossing_now(energy, energy.target)
    return tuple(
        Need(stage.fact, subject, stage.words.replace("{}", name), stage.ask, stage.clause, number)
        for number, stage in enumerate(way.stages)
        for subject, name in _subjects(stage.subjects, energy, sheet)
    )


def missing(energy: Energy, sheet: Sheet) -> tuple[Need, ...]:
    """What the crossing under way still needs, in order."""
    return tuple(need for need in needs(energy, sheet) if not _has(energy, need.fact, need.subject))


def accept(energy: Energy, sheet: Sheet, fact: Fact) -> Energy:
    """
    Take one piece of evidence of the crossing under way.

    Raises:
        EnergyError: no crossing is under way, the fact is not needed, an earlier stage is not complete, or a lock is
            removed by somebody who did not apply it.
    """
    if energy.target is None:
        raise EnergyError(f"no crossing is under way, so {fact.fact!r} proves nothing")
    open_needs = missing(energy, sheet)
    wanted = next((need for need in open_needs if (need.fact, need.subject) == (fact.fact, fact.subject)), None)
    if wanted is None:
        raise EnergyError(f"{fact.fact!r} of {fact.subject or 'the unit'} is not needed to reach {energy.target}")
    if wanted.stage > open_needs[0].stage:
        raise EnergyError(f"first: {open_needs[0].words} {open_needs[0].clause}".rstrip())
    check(wanted.ask, fact, energy.facts, sheet, control_off=control_is_off(energy, sheet))
    changed = msgspec.structs.replace(energy, facts=(*energy.facts, fact), generation=energy.generation + 1)
    if fact.fact == "locked":
        lock = Lock(fact.subject, str(fact.details.get("number", "")), fact.by, fact.at_utc)
        changed = msgspec.structs.replace(changed, locks={**energy.locks, fact.subject: lock})
    elif fact.fact == "lock removed":
        changed = _without_lock(changed, fact)
    elif fact.fact == "people counted":
        changed = msgspec.structs.replace(changed, people=int(fact.details["count"]), counted_utc=fact.at_utc)
    return changed


def enter(energy: Energy, sheet: Sheet, by: str, at_utc: str) -> Energy:
    """
    Pass into the state that was crossed to.

    Raises:
        EnergyError: no crossing is under way or evidence is missing; the message names the first.
    """
    if energy.target is None:
        raise EnergyError("no crossing is under way")
    open_needs = missing(energy, sheet)
    if open_needs:
        raise EnergyError(f"not {energy.target} yet: {open_needs[0].words}")
    _locks_agree(energy, sheet)
    return msgspec.structs.replace(
        energy,
        state=energy.target,
        by=by,
        at_utc=at_utc,
        reason="",
        target=None,
        was=None,
        generation=energy.generation + 1,
    )


def become_unknown(energy: Energy, reason: str, at_utc: str) -> Energy:
    """The state is no longer supported by evidence; locks stay on the list, to be looked at. Always legal."""
    return msgspec.structs.replace(
        energy,
        state=EnergyState.UNKNOWN,
        by="program",
        at_utc=at_utc,
        reason=reason,
        target=None,
        facts=(),
        was=_supported(energy),
        generation=energy.generation + 1,
    )


def _supported(energy: Energy) -> EnergyState | None:
    """The state that looking again may lead back to."""
    crossing_changed_locks = energy.target is not None and any(fact.fact in _LOCK_FACTS for fact in energy.facts)
    if crossing_changed_locks:
        return None
    return energy.was if energy.state is EnergyState.UNKNOWN else energy.state


def control_is_off(energy: Energy, sheet: Sheet) -> bool:
    """Whether the unit's own control supply is locked off: its transmitters and registers then say nothing."""
    return any(source.id in energy.locks for source in sheet.sources if source.kind == "control")


def stays_locked_live(source: Source, sheet: Sheet) -> bool:
    """Whether this source stays locked while the unit is live: the upstream isolation of a normally closed vent."""
    return source.kind == "process" and sheet.valve.normally_closed_vent


def _locks_agree(energy: Energy, sheet: Sheet) -> None:
    """Whatever the way, the state entered agrees with the locks that are recorded on."""
    for source in sheet.sources:
        on = source.id in energy.locks
        off_wanted = energy.target in (EnergyState.LIVE, EnergyState.IN_OPERATION) or (
            energy.target is EnergyState.CONTROL and not source.off_in_control and not stays_locked_live(source, sheet)
        )
        if energy.target is EnergyState.LIVE and stays_locked_live(source, sheet):
            continue
        on_wanted = energy.target is EnergyState.LOCKED or (
            energy.target is EnergyState.CONTROL and source.off_in_control
        )
        if on and off_wanted:
            owner = energy.locks[source.id].by
            raise EnergyError(f"not {energy.target}: {owner}'s lock on {source.name} is recorded on")
        if on_wanted and not on:
            raise EnergyError(f"not {energy.target}: no lock is recorded on {source.name} ({source.device})")


def _without_lock(energy: Energy, fact: Fact) -> Energy:
    lock = energy.locks[fact.subject]
    if lock.by != fact.by:
        raise EnergyError(
            f"the lock on {fact.subject} is {lock.by}'s; only {lock.by} removes it, or the employer's written procedure "
            "for an absent owner (1910.147(e)(3))"
        )
    locks = {source: lock for source, lock in energy.locks.items() if source != fact.subject}
    return msgspec.structs.replace(energy, locks=locks)


def _has(energy: Energy, fact: str, subject: str) -> bool:
    return any((known.fact, known.subject) == (fact, subject) for known in energy.facts)


def _subjects(subjects: Subjects, energy: Energy, sheet: Sheet) -> tuple[tuple[str, str], ...]:
    if subjects is Subjects.ONCE:
        return (("", ""),)
    if subjects is Subjects.PROCESS_EFFECT:
        effect = sheet.actuator.fail_effect
        return () if effect is FailEffect.NONE else (("", f"{effect} the line"),)
    if subjects in (Subjects.OIL_VOLUMES, Subjects.CONTAINED_VOLUMES):
        oil = subjects is Subjects.OIL_VOLUMES
        return tuple(
            (volume.id, _volume_name(volume.name, volume.gauge))
            for volume in sheet.volumes
            if (volume.kind == "oil") is oil
        )
    if subjects in (Subjects.FIRST_SOURCES, Subjects.OTHER_SOURCES):
        first = subjects is Subjects.FIRST_SOURCES
        still_on = energy.locks.keys() - {fact.subject for fact in energy.facts if fact.fact == "locked"}
        return tuple(
            (source.id, f"{source.name} ({source.device})")
            for source in sheet.sources
            if (source.locked == "first") is first and source.id not in still_on
        )
    return tuple(_locks_off(subjects, energy, sheet))


def _locks_off(subjects: Subjects, energy: Energy, sheet: Sheet) -> list[tuple[str, str]]:
    removed = {fact.subject for fact in energy.facts if fact.fact == "lock removed"}
    come_off = {
        Subjects.LOCKS_TO_CONTROL: lambda source: not source.off_in_control and not stays_locked_live(source, sheet),
        Subjects.LOCKS_TO_LIVE: lambda source: not stays_locked_live(source, sheet),
        Subjects.ALL_LOCKS: lambda _source: True,
    }[subjects]
    return [
        (source.id, f"{source.name} ({source.device})")
        for source in sheet.sources
        if (source.id in energy.locks or source.id in removed) and come_off(source)
    ]


def _volume_name(name: str, gauge: str) -> str:
    return f"{name} ({gauge})" if gauge else name
