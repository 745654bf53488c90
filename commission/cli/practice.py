"""`commission practice`: serve a practice unit, or walk one by itself."""

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from commission.cli import output
from commission.cli.folder import folder_of
from commission.cli.output import Ending, Status
from commission.content import checklists_folder, nearest

if TYPE_CHECKING:
    from commission.practice.fault_table import Fault
    from commission.practice.process import PracticeProcess
    from commission.practice.setup import Setup
    from commission.sheet import Sheet

UNATTENDED_SPEED = 20.0
"""Fast enough for a short visit in under a minute, slow enough for 50 samples in an 8 s stroke over TCP."""

_SLOWEST_UNATTENDED = 5.0
_SPEED_A_SECOND2 = 1.25
"""
Unit time a second of wire time, for each squared second between the limits of a stroke. Narrow limits need many
samples, and a busy machine takes some: with 1.6 s of room, at 8 one stroke of six was not decided, at 5 U stayed below
0.1 s.
"""


def run(chosen: argparse.Namespace) -> Status:
    """Serve, list, or walk unattended."""
    if chosen.list:
        return _list(as_json=chosen.json)
    sheet = sheet_of(chosen.unit)
    setup = setup_asked(chosen, sheet)
    if chosen.serve is not None:
        if chosen.checklist is not None:
            raise Ending("--serve walks nothing: give --checklist to the command that walks", Status.USAGE)
        return _serve(chosen, sheet, setup)
    checklist = checklist_asked(chosen)
    if chosen.unattended or chosen.auto:
        _demand_link(sheet)
    if chosen.unattended:
        return _unattended(chosen, sheet, setup)
    from commission.cli.app import open_app  # noqa: PLC0415  # the terminal library, only where it is used

    if not chosen.auto:
        return open_app(
            folder_of(chosen), speed=chosen.speed, practised=(sheet, chosen.seed, setup), checklist=checklist
        )
    from commission.cli.auto import Watched  # noqa: PLC0415  # as above

    by_itself = Watched(sheet, chosen.speed, chosen.start, checklist=checklist)
    return open_app(folder_of(chosen), by_itself=by_itself, speed=chosen.speed, practised=(sheet, chosen.seed, setup))


def setup_asked(chosen: argparse.Namespace, sheet: Path) -> "Setup | None":
    """
    What was asked for beside the sheet; None where nothing was.

    Raises:
        Ending: a scenario, a fault or a line trouble that does not exist, or that this unit cannot have.
    """
    if not (chosen.scenario or chosen.fault or chosen.line or chosen.months):
        return None
    from commission.practice.faults import NoSuchFault  # noqa: PLC0415  # not before the app's first paint
    from commission.practice.setup import setup_of  # noqa: PLC0415  # as above
    from commission.practice.trouble import NoSuchTrouble  # noqa: PLC0415  # as above
    from commission.sheet import load_sheet  # noqa: PLC0415  # as above

    try:
        return setup_of(load_sheet(sheet)[0], chosen.scenario, chosen.fault, chosen.line, chosen.months)
    except (NoSuchFault, NoSuchTrouble) as error:
        raise Ending(str(error), Status.USAGE) from error


def checklist_asked(chosen: argparse.Namespace) -> Path | None:
    """
    The checklist that somebody practises on, read once before anything is started; None for the packed one.

    Raises:
        ContentError: it cannot be walked; with every mistake.
    """
    if chosen.checklist is None:
        return None
    from commission.checklist import load_checklist  # noqa: PLC0415  # not before the app's first paint

    path = Path(chosen.checklist).resolve()
    load_checklist(path)
    return path


def sheet_of(unit: str) -> Path:
    """
    The sheet of a practice unit, by its tag.

    Raises:
        Ending: there is none of this name.
    """
    known = {path.stem.upper(): path for path in _sheets()}
    if unit.upper() in known:
        return known[unit.upper()]
    close = nearest(unit.upper(), known)
    hint = f"; did you mean {close}?" if close else f"; there is {', '.join(known)}"
    raise Ending(f"no practice unit {unit!r}{hint}", Status.USAGE)


def _sheets() -> list[Path]:
    return sorted((checklists_folder() / "units").glob("*.toml"))


def _list(*, as_json: bool) -> Status:
    from commission.practice.faults import faults_of  # noqa: PLC0415  # only where they are listed
    from commission.practice.scenario import load_scenarios  # noqa: PLC0415  # as above
    from commission.sheet import load_sheet  # noqa: PLC0415  # as above

    sheets = [load_sheet(path)[0] for path in _sheets()]
    scenarios = load_scenarios()
    if as_json:
        units = [
            {
                "tag": sheet.identity.tag,
                "service": sheet.identity.service,
                "scenarios": {found.name: found.about for found in scenarios if found.unit == sheet.identity.tag},
                "faults": {fault.name: fault.words for fault in faults_of(sheet)},
            }
            for sheet in sheets
        ]
        output.data_json({"units": units})
        return Status.DONE
    lines = []
    for sheet in sheets:
        lines.append(f"{sheet.identity.tag}  {sheet.identity.service}")
        named = [found for found in scenarios if found.unit == sheet.identity.tag]
        lines += [f"  --scenario {found.name}: {found.about}" for found in named]
    lines.append("")
    lines += [f"  --fault {fault.name}: {fault.words}" for fault in every_fault(sheets)]
    output.data("\n".join(lines))
    return Status.DONE


def every_fault(sheets: "list[Sheet]") -> "tuple[Fault, ...]":
    """The faults that at least one of the units can have, in their own order."""
    from commission.practice.faults import FAULTS  # noqa: PLC0415  # only where they are listed

    return tuple(fault for fault in FAULTS.values() if any(fault.on(sheet) for sheet in sheets))


def _serve(chosen: argparse.Namespace, sheet: Path, setup: "Setup | None") -> Status:
    from commission.practice.__main__ import main as serve  # noqa: PLC0415  # only where it is served

    options = [str(sheet), "--serve", chosen.serve, "--speed", f"{chosen.speed or 1.0:g}"]
    options += ["--meters"] * chosen.meters
    if setup is not None:
        import msgspec  # noqa: PLC0415  # as above

        options += ["--setup", msgspec.json.encode(setup).decode()]
    return Status(serve([*options, "--seed", str(chosen.seed), "--start", chosen.start]))


def _unattended(chosen: argparse.Namespace, sheet: Path, setup: "Setup | None") -> Status:
    from commission.cli.run import run as run_visit  # noqa: PLC0415  # not before the app's first paint

    answers = checklists_folder() / "practice" / f"{sheet.stem}.toml"
    if not answers.is_file():
        tag = sheet.stem.upper()
        raise Ending(f"{tag}: nobody's answers are filed for a visit to it; serve it, or walk it", Status.USAGE)
    with _unit(chosen, sheet, setup) as unit:
        output.say(f"Practice unit {sheet.stem.upper()} at speed {unit.at.speed:g}, in a process of its own.")
        where = {"connect": unit.at.url, "answers": answers, "site": unit.at.control}
        walked = {"sheet": sheet, "checklist": chosen.checklist, "out": chosen.out, "json": chosen.json}
        visit = argparse.Namespace(**where, **walked)
        return run_visit(visit)


def _demand_link(sheet: Path) -> None:
    """
    Answers from a file are taken only where a link proves a practice unit (safety rule R15).

    Raises:
        Ending: no link reads the unit.
    """
    from commission.sheet import load_sheet  # noqa: PLC0415  # not before the app's first paint

    if not load_sheet(sheet)[0].linked:
        tag = sheet.stem.upper()
        raise Ending(
            f"{tag}: no link reads it, and answers from a file are taken only where a link proves a practice unit;"
            f" walk it by keys: commission practice {tag}",
            Status.USAGE,
        )


def unattended_speed(sheet: Path) -> float:
    """How fast a unit may live so that its narrowest stroke limits can still be decided."""
    from commission.sheet import load_sheet  # noqa: PLC0415  # not before the app's first paint

    strokes = load_sheet(sheet)[0].strokes
    room_s = min(limits.longest_s - limits.shortest_s for limits in (strokes.opening, strokes.closing))
    return min(UNATTENDED_SPEED, max(_SLOWEST_UNATTENDED, _SPEED_A_SECOND2 * room_s**2))


@contextmanager
def _unit(chosen: argparse.Namespace, sheet: Path, setup: "Setup | None") -> "Iterator[PracticeProcess]":
    from commission.practice.process import running  # noqa: PLC0415  # not before the app's first paint

    speed = unattended_speed(sheet) if chosen.speed is None else chosen.speed
    with running(sheet, speed=speed, seed=chosen.seed, start_at=chosen.start, setup=setup) as unit:
        yield unit
