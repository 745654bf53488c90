"""
The checklist: what is to be done, as TOML that a service engineer edits.

A checklist holds steps, the cautions they show, the table of what an adjustment makes void, and the kinds of temporary
thing. It may include other files beside it, so that two checklists share one set of cautions. A step states the energy
state it belongs to, who may have hands where (safety rule R5), what it needs done before, and how it is concluded:
by answers to its questions, by a crossing of the energy state, or by a procedure that moves the valve.
"""

from commission.checklist.check import contradictions
from commission.checklist.model import (
    LOOKS,
    PULSE,
    Access,
    Caution,
    Checklist,
    Computed,
    Phase,
    ProcedureUse,
    Question,
    SignalWord,
    StateName,
    Step,
    TemporaryKind,
    VoidRule,
)
from commission.checklist.read import checklist_schema, load_checklist, parse_checklist

__all__ = [
    "LOOKS",
    "PULSE",
    "Access",
    "Caution",
    "Checklist",
    "Computed",
    "Phase",
    "ProcedureUse",
    "Question",
    "SignalWord",
    "StateName",
    "Step",
    "TemporaryKind",
    "VoidRule",
    "checklist_schema",
    "contradictions",
    "load_checklist",
    "parse_checklist",
]
