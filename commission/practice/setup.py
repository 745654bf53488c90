"""
How one practice unit is to be: its condition, its line, where it starts and what happens during its day.

Made from a scenario's name, faults and line troubles as they are typed; handed to the unit's process as one JSON text.
"""

from collections.abc import Sequence

import msgspec
from msgspec.structs import replace

from commission.practice.condition import HEALTHY, Condition
from commission.practice.faults import NoSuchFault, line_with_fault, parse_fault, with_fault, worn
from commission.practice.scenario import Event, condition_of, line_of, scenario_of
from commission.practice.trouble import CLEAN, Trouble, with_trouble
from commission.sheet import Sheet


class Setup(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """
    Everything about one practice unit that its sheet does not say.

    Args:
        condition: What is not as the sheet says.

        line: What is wrong with the line.

        start: Where the valve stands, `closed` or `open`; where the scenario or the command line leaves it.

        events: What happens during the day.
    """

    condition: Condition = HEALTHY
    line: Trouble = CLEAN
    start: str = ""
    events: tuple[Event, ...] = ()


AS_THE_SHEET_SAYS = Setup()


def setup_of(
    sheet: Sheet, scenario: str = "", faults: Sequence[str] = (), line: Sequence[str] = (), months: float = 0.0
) -> Setup:
    """
    The set-up that somebody asked for.

    Args:
        sheet: Of the unit.

        scenario: By name; empty for none.

        faults: As typed, `name` or `name=severity`.

        line: As typed, `name=number`.

        months: Of service on top of everything else.

    Raises:
        NoSuchFault, NoSuchTrouble: a name or a number that does not exist.

        ContentError: the file of scenarios is not sound.
    """
    setup = AS_THE_SHEET_SAYS
    if scenario:
        found = scenario_of(scenario, sheet.identity.tag)
        setup = Setup(condition=condition_of(found, sheet), line=line_of(found), start=found.start, events=found.events)
    if months < 0.0:
        raise NoSuchFault(f"{months:g} months: expected 0 or more")
    condition = worn(setup.condition, sheet, months) if months else setup.condition
    trouble = setup.line
    for text in faults:
        name, severity = parse_fault(text)
        condition = with_fault(condition, sheet, name, severity)
        trouble = line_with_fault(trouble, name, severity)
    for text in line:
        trouble = with_trouble(trouble, text)
    return replace(setup, condition=condition, line=trouble)
