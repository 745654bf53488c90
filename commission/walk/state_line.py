"""
The energy state in one line: whose word it is and how old (safety rule R4), and the minutes to the permit's end (R7).

"Everybody clear" is never said: only the count, and when it was made. Times are UTC, as the record has them.
"""

from datetime import datetime

from commission.energy import HELD_BY_POWER, Energy, EnergyState
from commission.job.state import Job
from commission.walk import permit

LOW_PERMIT_MIN = 25
"""From here on the minutes to the permit's end are pointed at (common practice, no source)."""

DUMP_BLOCKED = "blocked"

PUMPING_DANGER = (
    "DANGER  The dump is held by control power: loss of 24 V or ESD strokes the valve. "
    "Nobody inside the guard while it is off its fail position"
)
"""Variant of pumping in which power holds the oil (safety rule R3)."""


def state_line(job: Job) -> str:
    """The energy state with whose word it is and when, as `LOCKED recorded 08:30 T. Placeholder, 7 locks`."""
    energy = job.energy_log.now
    if energy.state is EnergyState.UNKNOWN:
        since = f" since {_clock(energy.at_utc)}" if energy.at_utc else ""
        return f"UNKNOWN{since}: {energy.reason}"
    words = {
        EnergyState.LOCKED: f"LOCKED recorded {_clock(energy.at_utc)} {energy.by}, {_locks(energy)}",
        EnergyState.PUMPING: f"PUMPING {pumping_variant(job)} recorded {_clock(energy.at_utc)} {energy.by}",
        EnergyState.CONTROL: f"CONTROL recorded {_clock(energy.at_utc)} {energy.by}, {_locks(energy)}",
        EnergyState.LIVE: f"LIVE keep out, {_count(energy)}",
        EnergyState.IN_OPERATION: f"IN OPERATION, look only, recorded {_clock(energy.at_utc)} {energy.by}",
    }
    line = words[energy.state]
    return line if energy.target in (None, energy.state) else f"{line}; crossing to {energy.target}"


def pumping_variant(job: Job) -> str:
    """How the oil is held while pumping: `dump blocked`, `dump held by control power` or `oil holds by itself`."""
    entries = [crossed for crossed in job.energy_log.crossed if crossed.target is EnergyState.PUMPING]
    facts = entries[-1].facts if entries else ()
    fact = next((known for known in facts if known.fact == "dump held"), None)
    how = "" if fact is None else str(fact.details.get("how", ""))
    if how == HELD_BY_POWER:
        return "dump held by control power"
    return "dump blocked" if how == DUMP_BLOCKED else "oil holds by itself"


def danger(job: Job) -> str:
    """What is dangerous about the very state the unit is in, beyond the cautions of a step; empty where nothing is."""
    energy = job.energy_log.now
    if energy.state is EnergyState.PUMPING and pumping_variant(job) == "dump held by control power":
        return PUMPING_DANGER
    return ""


def permit_words(job: Job, now: datetime) -> str:
    """Minutes to the permit's end, always in sight: `permit 198 min`, `PERMIT ENDS IN 20 min`, `PERMIT ENDED`."""
    left_min = permit.minutes_left(job, now)
    if left_min is None:
        return "no permit"
    if left_min < 0:
        return "PERMIT ENDED"
    return f"PERMIT ENDS IN {left_min} min" if left_min <= LOW_PERMIT_MIN else f"permit {left_min} min"


def _clock(at_utc: str) -> str:
    return datetime.fromisoformat(at_utc).strftime("%H:%M") if at_utc else "at no known time"


def _locks(energy: Energy) -> str:
    count = len(energy.locks)
    return f"{count} lock" if count == 1 else f"{count} locks"


def _count(energy: Energy) -> str:
    if energy.people is None:
        return "nobody counted yet"
    return f"{energy.people} counted {_clock(energy.counted_utc)}"
