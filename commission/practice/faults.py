"""
Faults by name, each with a severity from 0 to 1, for `--fault name=severity`.

A fault changes a condition or the line; two faults change it one after the other, so that factors multiply and leaks
add. `fault_table` has them all.
"""

from msgspec.structs import replace

from commission.content import nearest
from commission.practice.condition import Condition
from commission.practice.fault_table import TABLE, Fault, efficiency, precharge_bar
from commission.practice.trouble import Trouble
from commission.sheet import Sheet

FAULTS: dict[str, Fault] = {fault.name: fault for fault in TABLE}


class NoSuchFault(ValueError):
    """There is no fault of this name, it takes no such severity, or this unit cannot have it."""


def faults_of(sheet: Sheet) -> tuple[Fault, ...]:
    """The faults that a unit can have."""
    return tuple(fault for fault in TABLE if fault.on(sheet))


def parse_fault(text: str) -> tuple[str, float]:
    """
    A fault as typed: `name` or `name=severity`.

    Raises:
        NoSuchFault: no fault of this name, or a severity that is no number from 0 to 1.
    """
    name, _, number = text.partition("=")
    if name not in FAULTS:
        close = nearest(name, FAULTS)
        raise NoSuchFault(f"no fault {name!r}" + (f"; did you mean {close}?" if close else f"; {', '.join(FAULTS)}"))
    try:
        severity = float(number) if number else 1.0
    except ValueError:
        severity = -1.0
    if not 0.0 <= severity <= 1.0:
        raise NoSuchFault(f"{text!r}: expected a severity from 0 to 1, as {name}=0.5")
    return name, severity


def with_fault(condition: Condition, sheet: Sheet, name: str, severity: float) -> Condition:
    """
    A condition with one more fault.

    Raises:
        NoSuchFault: this unit cannot have it.
    """
    fault = FAULTS[name]
    if not fault.on(sheet):
        raise NoSuchFault(f"{sheet.identity.tag} cannot have {name!r}: {fault.words}")
    return replace(condition, **fault.changes(condition, sheet, severity))


def line_with_fault(line: Trouble, name: str, severity: float) -> Trouble:
    """A line with one more fault; a fault of the unit leaves it as it is."""
    return replace(line, **FAULTS[name].line(line, severity))


def worn(condition: Condition, sheet: Sheet, months: float) -> Condition:
    """
    A condition after months of service: packing, pump, spring and nitrogen as they usually age (common practice, no
    source): packing 30 % a year, pump 2 points, spring 0.5 %, nitrogen 4 %, cells 0.01 Ω.
    """
    years = months / 12.0
    return replace(
        condition,
        friction_factor=condition.friction_factor * (1.0 + 0.30 * years),
        volumetric_efficiency=max(0.2, efficiency(condition, sheet) - 0.02 * years),
        spring_factor=condition.spring_factor * (1.0 - 0.005 * years),
        precharge_bar=precharge_bar(condition, sheet) * 0.96**years,
        battery_ohm=condition.battery_ohm + 0.01 * years,
    )
