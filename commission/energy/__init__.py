"""
The energy states of a unit: `crossings` is the table of states and ways between them, `machine` the rules and the only
way through the table; `evidence` says which facts prove anything.
"""

from commission.energy.crossings import CROSSINGS, Crossing, EnergyState, Stage, Subjects, crossing
from commission.energy.evidence import EnergyError, Fact
from commission.energy.machine import (
    HELD_BY_POWER,
    Energy,
    Lock,
    Need,
    accept,
    become_unknown,
    begin,
    control_is_off,
    crossing_now,
    enter,
    missing,
    needs,
    stays_locked_live,
)

__all__ = [
    "CROSSINGS",
    "HELD_BY_POWER",
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
