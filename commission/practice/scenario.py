"""
Scenarios: a unit on a certain day, by name, from `checklists/practice/scenarios.toml`.

A scenario says what is not as the sheet says, as fields of a condition or as faults with severities, what is wrong with
the line, and what people do at which hour.
"""

from pathlib import Path

import msgspec

from commission.content import ContentError, Problem, checklists_folder, load, nearest, read_text
from commission.practice.condition import Condition
from commission.practice.faults import FAULTS, NoSuchFault, line_with_fault, with_fault, worn
from commission.practice.trouble import CLEAN, Trouble
from commission.sheet import Sheet


class Event(msgspec.Struct, frozen=True, kw_only=True):
    """One thing that somebody does at an hour of the day; names and values as in `acts.ACTS`."""

    at_h: float
    act: str
    value: bool | int | float | str | None = None
    which: str = ""


class Scenario(msgspec.Struct, frozen=True, kw_only=True):
    """
    One scenario of one unit.

    Args:
        name: For the command line.

        unit: Tag.

        about: What a good visit finds.

        start: Where the valve stands.

        months: Of service since the sheet's figures were taken.

        faults: By name, with severity.

        condition: Everything else that is not as the sheet says.

        line: What is wrong with the line.

        events: What happens during the day.
    """

    name: str
    unit: str
    about: str
    start: str = "closed"
    months: float = 0.0
    faults: dict[str, float] = {}
    condition: Condition = Condition()
    line: Trouble = CLEAN
    events: tuple[Event, ...] = ()

    def __post_init__(self) -> None:
        """Name what is unknown where the file is read, not on the day."""
        for name in self.faults:
            if name not in FAULTS:
                raise ValueError(f"a known fault, not {name!r}; did you mean {nearest(name, FAULTS)!r}?")
        if self.start not in ("closed", "open"):
            raise ValueError(f"start = open or closed, not {self.start!r}")


class Scenarios(msgspec.Struct, frozen=True, kw_only=True):
    """A file of scenarios."""

    scenarios: tuple[Scenario, ...]


def scenarios_file() -> Path:
    """Where the scenarios are."""
    return checklists_folder() / "practice" / "scenarios.toml"


def load_scenarios(path: Path | None = None) -> tuple[Scenario, ...]:
    """
    The scenarios of a file.

    Raises:
        ContentError: with every mistake in it.
    """
    source = read_text(path or scenarios_file())
    found = load(Scenarios, source).scenarios
    names = [(scenario.unit, scenario.name) for scenario in found]
    for unit, name in names:
        if names.count((unit, name)) > 1:
            raise ContentError([Problem(source.name, f"scenario {name!r}", "name", f"twice for {unit}", "one each")])
    return found


def scenario_of(name: str, tag: str, path: Path | None = None) -> Scenario:
    """
    The scenario of this name for a unit.

    Raises:
        NoSuchFault: there is none.
    """
    of_unit = {scenario.name: scenario for scenario in load_scenarios(path) if scenario.unit == tag}
    if name not in of_unit:
        close = nearest(name, of_unit)
        hint = f"; did you mean {close}?" if close else f"; there is {', '.join(of_unit)}"
        raise NoSuchFault(f"{tag}: no scenario {name!r}{hint}")
    return of_unit[name]


def condition_of(scenario: Scenario, sheet: Sheet) -> Condition:
    """
    The condition that a scenario leaves a unit in: its own fields, months of service, then its faults.

    Raises:
        NoSuchFault: a fault that this unit cannot have.
    """
    condition = scenario.condition
    if scenario.months:
        condition = worn(condition, sheet, scenario.months)
    for name, severity in scenario.faults.items():
        condition = with_fault(condition, sheet, name, severity)
    return condition


def line_of(scenario: Scenario) -> Trouble:
    """The line of a scenario: its own troubles, then those of its faults."""
    line = scenario.line
    for name, severity in scenario.faults.items():
        line = line_with_fault(line, name, severity)
    return line
