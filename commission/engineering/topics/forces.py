"""Margins of torque or thrust over travel, both ways, and the pressures at which the valve moves."""

from commission.engineering.drive import Margin, weakest
from commission.engineering.expectation import Gathering, Topic
from commission.engineering.unit import Unit
from commission.sheet.model import End

_WORDS = {End.OPEN: "opening", End.CLOSED: "closing"}


def forces(unit: Unit) -> Topic:
    """Margins at break, run and end in both directions, at cut-in pressure and with the weakest spring."""
    found = Gathering("Torque" if unit.sheet.valve.motion == "quarter-turn" else "Thrust")
    if not unit.drive.loads:
        found.lack("valve.load", "margins of torque or thrust")
        return found.topic
    found.needs("what the margins are held against", valve__required_margin=unit.sheet.valve.required_margin)
    if unit.sheet.spring is not None:
        found.needs("margins at the weakest spring", spring__tolerance_pct=unit.sheet.spring.tolerance_pct)
    for towards in (End.OPEN, End.CLOSED):
        margins = unit.drive.margins(towards, unit.cut_in_pa)
        _least_of_each_phase(unit, found, towards, margins)
    _pressures(unit, found)
    return found.topic


def _least_of_each_phase(unit: Unit, found: Gathering, towards: End, margins: tuple[Margin, ...]) -> None:
    least = weakest(margins)
    required = unit.sheet.valve.required_margin
    drawn = {one.travel: one.factor for one in unit.drive.as_drawn.margins(towards, unit.cut_in_pa)}
    for phase in ("break", "run", "end"):
        margin = weakest(tuple(one for one in margins if one.phase == phase))
        if margin is None:
            continue
        by = f"oil at cut-in {unit.sheet.pump.cut_in_bar:g} bar" if margin.by == "pressure" else "spring alone"
        notes = [f"weakest of {_WORDS[towards]}"] if margin == least else []
        if required is not None and margin.factor < required:
            notes.append(f"BELOW the required {required:g}")
        elif required is not None:
            notes.append(f"required {required:g}")
        if unit.drive.spring_tolerance:
            notes.append(f"{drawn[margin.travel]:.2f} with the spring as drawn")
        name = f"{_WORDS[towards]} margin, {phase} ({margin.travel * 100:.0f} %)"
        origin = f"{by}{_worst_spring(unit, margin)}, load table"
        found.add(f"margin.{_WORDS[towards]}.{phase}", name, margin.factor, "", origin, note="; ".join(notes))


def _worst_spring(unit: Unit, margin: Margin) -> str:
    """Which spring it is computed with; nothing on a unit without one."""
    spring = unit.sheet.spring
    if spring is None:
        return ""
    if spring.tolerance_pct is None:
        return ", spring as in the sheet"
    which = "weakest" if margin.by == "spring" else "strongest"
    return f", {which} spring ({spring.tolerance_pct:g} %)"


def _pressures(unit: Unit, found: Gathering) -> None:
    drive = unit.drive
    origin = "load over area" if drive.spring_n is None else "spring and load over area"
    for towards in drive.powered_ends:
        start = 0.0 if towards is End.OPEN else 1.0
        for share, words, name in ((unit.empty_share, "empty line", "empty"), (1.0, "design load", "design")):
            along = [drive.moving_pa(step / 60, towards, share) for step in range(61)]
            at = along.index(max(along)) / 60
            found.add(
                f"pressure.{_WORDS[towards]}.{name}.break",
                f"{_WORDS[towards]} pressure at breakaway, {words}",
                drive.moving_pa(start, towards, share) / 1e5,
                "bar",
                origin,
            )
            note = f"at {at * 100:.0f} % of travel"
            if max(along) >= unit.sheet.pump.relief_bar * 1e5:
                note += "; ABOVE the relief valve: it stalls there"
            elif max(along) >= unit.cut_in_pa:
                note += "; above cut-in: not proved by a unit that rests there"
            found.add(
                f"pressure.{_WORDS[towards]}.{name}.largest",
                f"largest {_WORDS[towards]} pressure, {words}",
                max(along) / 1e5,
                "bar",
                origin,
                note=note,
            )
