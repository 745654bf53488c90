"""Fold: the energy state, its evidence and locks, and the log of crossings for the report."""

import msgspec

from commission.energy import Energy, EnergyError, EnergyState, Fact, accept, become_unknown, begin, enter
from commission.job.bodies import EnergyBegun, EnergyEntered, EnergyLost, EnergyProved, SessionStarted
from commission.job.fold import Happened
from commission.sheet import Sheet


class Crossed(msgspec.Struct, frozen=True):
    """One entry of the energy log."""

    at_utc: str
    source: EnergyState
    target: EnergyState
    by: str
    people: int | None
    locks: int
    reason: str
    facts: tuple[Fact, ...]


class EnergyLog(msgspec.Struct, frozen=True):
    """The energy state now and every crossing so far."""

    now: Energy = Energy()
    crossed: tuple[Crossed, ...] = ()


def fold_energy(log: EnergyLog, seen: Happened, sheet: Sheet) -> EnergyLog:
    """
    The log after one more event.

    Raises:
        EnergyError: the event is not legal in the state so far; nothing changes.
    """
    event, body = seen.event, seen.body
    energy = log.now
    match body:
        case SessionStarted():
            reason = "the program was started again" if body.resumed else "a new job"
            return _lost(log, reason, event.at_utc)
        case EnergyLost():
            return _lost(log, body.reason, event.at_utc)
        case EnergyBegun():
            return msgspec.structs.replace(log, now=begin(energy, EnergyState(body.target)))
        case EnergyProved():
            fact = Fact(body.fact, body.subject, event.by, event.at_utc, body.details)
            return msgspec.structs.replace(log, now=accept(energy, sheet, fact))
        case EnergyEntered():
            after = enter(energy, sheet, event.by, event.at_utc)
            if after.state != body.state:
                raise EnergyError(f"the evidence leads to {after.state}, not to {body.state}")
            entry = Crossed(
                event.at_utc, energy.state, after.state, event.by, after.people, len(after.locks), "", after.facts
            )
            return EnergyLog(after, (*log.crossed, entry))
    return log


def _lost(log: EnergyLog, reason: str, at_utc: str) -> EnergyLog:
    energy = log.now
    after = become_unknown(energy, reason, at_utc)
    entry = Crossed(
        at_utc, energy.state, after.state, "program", energy.people, len(energy.locks), reason, energy.facts
    )
    return EnergyLog(after, (*log.crossed, entry))
