"""`commission practice`: serve a practice unit, or walk one by itself."""

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from commission.cli import output
from commission.cli.output import Ending, Status
from commission.content import checklists_folder, nearest

if TYPE_CHECKING:
    from commission.practice.process import PracticeProcess

UNATTENDED_SPEED = 20.0
"""Fast enough for a short visit in under a minute, slow enough for 50 samples in an 8 s stroke over TCP."""


def run(chosen: argparse.Namespace) -> Status:
    """Serve, list, or walk unattended."""
    if chosen.list:
        return _list(as_json=chosen.json)
    sheet = sheet_of(chosen.unit)
    if chosen.serve is not None:
        return _serve(chosen, sheet)
    if chosen.unattended:
        return _unattended(chosen, sheet)
    from commission.cli.app import folder_of, open_app  # noqa: PLC0415  # the terminal library, only where it is used

    if not chosen.auto:
        return open_app(folder_of(chosen), speed=chosen.speed)
    from commission.cli.auto import Watched  # noqa: PLC0415  # as above

    return open_app(folder_of(chosen), by_itself=Watched(sheet, chosen.speed, chosen.start), speed=chosen.speed)


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
    from commission.sheet import load_sheet  # noqa: PLC0415  # only where they are listed

    units = [load_sheet(path)[0].identity for path in _sheets()]
    if as_json:
        output.data_json({"units": [{"tag": unit.tag, "service": unit.service} for unit in units]})
    else:
        output.data("\n".join(f"{unit.tag}  {unit.service}" for unit in units))
    return Status.DONE


def _serve(chosen: argparse.Namespace, sheet: Path) -> Status:
    from commission.practice.__main__ import main as serve  # noqa: PLC0415  # only where it is served

    options = [str(sheet), "--serve", chosen.serve, "--speed", f"{chosen.speed or 1.0:g}"]
    return Status(serve([*options, "--seed", str(chosen.seed), "--start", chosen.start]))


def _unattended(chosen: argparse.Namespace, sheet: Path) -> Status:
    from commission.cli.run import run as run_visit  # noqa: PLC0415  # not before the app's first paint

    answers = checklists_folder() / "practice" / f"{sheet.stem}.toml"
    with _unit(chosen, sheet) as unit:
        output.say(f"Practice unit {sheet.stem.upper()} at speed {unit.at.speed:g}, in a process of its own.")
        visit = argparse.Namespace(
            sheet=sheet, connect=unit.at.url, answers=answers, site=unit.at.control, out=chosen.out, json=chosen.json
        )
        return run_visit(visit)


@contextmanager
def _unit(chosen: argparse.Namespace, sheet: Path) -> "Iterator[PracticeProcess]":
    from commission.practice.process import running  # noqa: PLC0415  # not before the app's first paint

    speed = UNATTENDED_SPEED if chosen.speed is None else chosen.speed
    with running(sheet, speed=speed, seed=chosen.seed, start_at=chosen.start) as unit:
        yield unit
