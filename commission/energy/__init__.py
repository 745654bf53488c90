"""
The energy states of a unit: `machine` holds the rules, the table of crossings and the only way through it; `evidence`
says which facts prove anything.
"""

from commission.energy.evidence import EnergyError, Fact
from commission.energy.machine import (
    CROSSINGS,
    Crossing,
    Energy,
    EnergyState,
    Lock,
    Need,
    Stage,
    Subjects,
    accept,
    become_unknown,
    begin,
    control_is_off,
    crossing,
    crossing_now,
    enter,
    missing,
    needs,
    stays_locked_live,
)

__all__ = [
    "CROSSINGS",
    "Crossing",
    "Energy",
    "EnergyError",
    "EnergyState",
    "Fact",
    "Lock",
    "Need",
    "Stage",
    "Subjects",
    "accept",
    "become_unknown",
    "begin",
    "control_is_off",
    "crossing",
    "crossing_now",
    "enter",
    "missing",
    "needs",
    "stays_locked_live",
]
