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

* Once a lock is off, the crossing is finished or the state is unknown: it is not left for another as if nothing had
  happened, and no hands go in while it is under way.

`crossings.CROSSINGS` is the table; the functions below are the only way through it. An illegal act raises and changes
nothing.
"""

from collections.abc import Mapping

import msgspec

from commission.energy.crossings import ISOLATION, Crossing, EnergyState, Subjects, crossing
from commission.energy.evidence import EnergyError, Fact, check
from commission.sheet import FailEffect, Sheet
from commission.sheet.model import Source


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

    @property
    def hands_may_go_in(self) -> bool:
        """Whether a step inside covers or at the yoke may be asked for: locked, and not on the way out of it."""
        return self.state.hands_may_go_in and self.target is None


_LOCK_FACTS = frozenset({"locked", "lock removed"})

HELD_BY_POWER = "control power"
"""How a dump is held shut while pumping, in the details of `dump held`, where it is not blocked (safety rule R3)."""

_HOLDING = frozenset({"control", "24 V loop", "battery", "array"})


def crossing_now(energy: Energy, target: EnergyState) -> Crossing:
    """
    The way to a state from where the unit stands, with what is known of how it came there.

    Raises:
        EnergyError: there is none, or control is to be looked at again although nothing supports it.
    """
    way = crossing(energy.state, target)
    if energy.state is not EnergyState.UNKNOWN:
        return way
    if target is EnergyState.LOCKED and energy.was is not EnergyState.LOCKED:
        return Crossing(way.source, way.target, ISOLATION)
    if target is EnergyState.CONTROL and energy.was is not EnergyState.CONTROL:
        raise EnergyError("control is entered from locked; it was not where evidence had led before")
    return way


def begin(energy: Energy, target: EnergyState) -> Energy:
    """
    Start collecting evidence for a crossing. The state itself does not change yet, but leave given before is stale.

    Raises:
        EnergyError: as for `crossing_now`, or a lock has come off in the crossing under way.
    """
    crossing_now(energy, target)
    if energy.target is not None and any(fact.fact == "lock removed" for fact in energy.facts):
        raise EnergyError(f"a lock is off already on the way to {energy.target}: finish it, or make the state unknown")
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
            f"the lock on {fact.subject} is {lock.by}'s; only {lock.by} removes it, or the employer's written "
            "procedure for an absent owner (1910.147(e)(3))"
        )
    locks = {source: lock for source, lock in energy.locks.items() if source != fact.subject}
    return msgspec.structs.replace(energy, locks=locks)


def _has(energy: Energy, fact: str, subject: str) -> bool:
    return any((known.fact, known.subject) == (fact, subject) for known in energy.facts)


def _subjects(subjects: Subjects, energy: Energy, sheet: Sheet) -> tuple[tuple[str, str], ...]:
    if subjects is Subjects.ONCE:
        return (("", ""),)
    if subjects is Subjects.RELOCKED:
        missing_lock = any(source.id not in energy.locks for source in sheet.sources)
        relocked = missing_lock or any(fact.fact == "locked" for fact in energy.facts)
        return (("", "the dead terminals"),) if relocked else ()
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
    held_by_power = any(fact.fact == "dump held" and fact.details.get("how") == HELD_BY_POWER for fact in energy.facts)
    return [
        (source.id, f"{source.name} ({source.device})")
        for source in sheet.sources
        if (source.id in energy.locks or source.id in removed)
        and _comes_off(subjects, source, sheet, held_by_power=held_by_power)
    ]


def _comes_off(subjects: Subjects, source: Source, sheet: Sheet, *, held_by_power: bool) -> bool:
    if subjects is Subjects.ALL_LOCKS:
        return True
    if subjects is Subjects.LOCKS_TO_CONTROL and source.off_in_control:
        return False
    if subjects is Subjects.LOCKS_TO_HOLD:
        return held_by_power and source.kind in _HOLDING
    return not stays_locked_live(source, sheet)


def _volume_name(name: str, gauge: str) -> str:
    return f"{name} ({gauge})" if gauge else name
