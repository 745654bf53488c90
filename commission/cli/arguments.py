"""Everything that can be typed. Light, because it is read before any command is chosen."""

import argparse
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from commission import __version__

if TYPE_CHECKING:
    _Commands = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001  # argparse gives it no other name

_EPILOG = """\
Addresses of a unit: tcp://127.0.0.1:5020?unit=1, rtu:///dev/ttyUSB0?baud=19200&parity=E&stop=1&unit=1, rtu://COM3?unit=1
Exit status: 0 done and passed; 1 done, with deviations or a failed check; 2 bad usage or input; 3 the unit could not be
reached or contact was lost; 4 the record is damaged or was altered.

This is not a safety system. Site procedure, permits, local codes and licensed people win over anything it says."""


def parser() -> argparse.ArgumentParser:
    """The whole command line."""
    top = argparse.ArgumentParser(
        prog="commission",
        description="Commission an electro-hydraulic valve actuator: walk, measure, prove, record.",
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    top.add_argument("--version", action="version", version=f"commission {__version__}")
    top.add_argument("--folder", type=Path, metavar="DIR", help="folder of jobs for the app (default: the user's own)")
    commands = top.add_subparsers(dest="command", metavar="COMMAND")
    _practice(_command(commands, "practice", "the app on a practice unit: real physics behind a real wire"))
    _run(_command(commands, "run", "a visit, question by question"))
    _stroke(_command(commands, "stroke", "time one full stroke"))
    _partial_stroke(_command(commands, "partial-stroke", "rerun the partial stroke against the baseline of a job"))
    _retest(_command(commands, "retest", "the periodic re-test of a unit, from the job of an earlier visit"))
    _watch(_command(commands, "watch", "the points of a unit now, as a table"))
    _check(_command(commands, "check", "is this checklist, sheet or answers file sound?"))
    _expected(_command(commands, "expected", "all that follows from a sheet alone: what must come out"))
    _command(commands, "film-clock", "a large running clock, to be filmed together with the stem")
    _report(_command(commands, "report", "the as-left report of a job, as PDF"))
    _export(_command(commands, "export", "a job as JSON or CSV"))
    _history(_command(commands, "history", "the visits to one unit, and how its figures went"))
    _verify(_command(commands, "verify", "is a job unaltered, and do its figures recompute?"))
    return top


def _speed(text: str) -> float:
    speed = float(text)
    if not 1 <= speed <= 60:  # not a number is no speed either
        raise argparse.ArgumentTypeError(f"{text} is not from 1 to 60")
    return speed


def _count(text: str) -> int:
    count = int(text)
    if count < 0:
        raise argparse.ArgumentTypeError(f"{text} is below zero")
    return count


def _day(text: str) -> date:
    return date.fromisoformat(text)


def _done(text: str) -> int:
    count = int(text)
    if count < 1:
        raise argparse.ArgumentTypeError(f"{text} is below one: the last test counts")
    return count


_day.__name__, _done.__name__ = "date (as 2026-11-26)", "number"
_speed.__name__, _count.__name__ = "speed", "number"  # as argparse's own sentences name them


def _command(commands: "_Commands", name: str, words: str) -> argparse.ArgumentParser:
    sentence = words[0].upper() + words[1:]
    return commands.add_parser(name, help=words, description=sentence if words.endswith("?") else f"{sentence}.")


def _practice(command: argparse.ArgumentParser) -> None:
    command.add_argument("unit", nargs="?", default="XV-1101", help="tag of a practice unit (default XV-1101)")
    command.add_argument("--serve", metavar="URL", help="only serve it: tcp://127.0.0.1:0, or rtu:// on a new pty")
    command.add_argument("--unattended", action="store_true", help="walk by itself without a screen")
    command.add_argument("--auto", action="store_true", help="the app walks by itself, you watch")
    command.add_argument("--out", type=Path, metavar="DIR", help="folder for the job and its report")
    command.add_argument(
        "--speed", type=_speed, default=None, metavar="N", help="unit time runs N times faster, 1 to 60"
    )
    command.add_argument("--seed", type=int, default=1, metavar="N", help="seed of noise (default 1)")
    command.add_argument("--start", choices=("closed", "open"), default="closed", help="where the valve begins")
    command.add_argument("--list", action="store_true", help="list the practice units, their scenarios and faults")
    command.add_argument("--scenario", metavar="NAME", default="", help="the unit on a certain day; --list names them")
    command.add_argument(
        "--fault",
        action="append",
        default=[],
        metavar="NAME[=SEVERITY]",
        help="a fault, severity 0 to 1; may be repeated",
    )
    command.add_argument(
        "--line", action="append", default=[], metavar="NAME=NUMBER", help="a bad line, as drop=0.05; may be repeated"
    )
    command.add_argument(
        "--meters", action="store_true", help="with --serve: meter, gauge and calibrator on serial ports of their own"
    )
    command.add_argument("--checklist", type=Path, metavar="FILE", help="walk this one instead of commissioning.toml")
    command.add_argument("--months", type=float, default=0.0, metavar="N", help="months of service since the sheet")
    command.add_argument("--json", action="store_true", help="print one JSON object on standard output")


def _visit(command: argparse.ArgumentParser) -> None:
    """What every command that holds a visit takes."""
    command.add_argument("--connect", metavar="URL", required=True, help="address of the unit")
    command.add_argument("--answers", type=Path, metavar="FILE", help="answers from a file; practice units only")
    command.add_argument("--site", metavar="HOST:PORT", help="site desk of a practice unit, for what answers do there")
    command.add_argument("--meter", metavar="ID=DEVICE", default="", help="a meter read by wire, as M-03=/dev/ttyUSB1")
    command.add_argument("--out", type=Path, metavar="DIR", help="folder for the job and its report (default: here)")
    command.add_argument("--json", action="store_true", help="print one JSON object on standard output")


def _run(command: argparse.ArgumentParser) -> None:
    command.add_argument("sheet", type=Path, help="the unit's sheet, or a job to go on with")
    command.add_argument("--checklist", type=Path, metavar="FILE", help="another checklist than commissioning.toml")
    _visit(command)


def _stroke(command: argparse.ArgumentParser) -> None:
    command.add_argument("sheet", type=Path, help="the unit's sheet, or a job to go on with")
    command.add_argument("direction", choices=("open", "closed"), help="the end to go to")
    _visit(command)


def _partial_stroke(command: argparse.ArgumentParser) -> None:
    command.add_argument("sheet", type=Path, metavar="job", help="the job with the baseline; a new one is begun beside")
    command.add_argument("--checklist", type=Path, metavar="FILE", help="another checklist than partial-stroke.toml")
    _visit(command)


def _retest(command: argparse.ArgumentParser) -> None:
    command.add_argument("sheet", type=Path, metavar="job", help="the earlier visit's job; a new one is begun beside")
    command.add_argument("--checklist", type=Path, metavar="FILE", help="another checklist than retest.toml")
    _visit(command)


def _watch(command: argparse.ArgumentParser) -> None:
    command.add_argument("sheet", type=Path, help="the unit's sheet")
    command.add_argument("--connect", metavar="URL", required=True, help="address of the unit")
    command.add_argument("--times", type=_count, default=0, metavar="N", help="stop after N readings")
    command.add_argument("--json", action="store_true", help="read once and print one JSON object")


def _check(command: argparse.ArgumentParser) -> None:
    command.add_argument("files", nargs="*", type=Path, metavar="FILE", help="checklists, sheets, answers files")
    command.add_argument("--schema", choices=("sheet", "checklist"), help="print the JSON Schema for editors instead")
    command.add_argument("--json", action="store_true", help="print one JSON object on standard output")


def _expected(command: argparse.ArgumentParser) -> None:
    command.add_argument("sheet", type=Path, help="the unit's sheet")
    command.add_argument("--units", choices=("si", "us"), default="si", help="bar, litre, newton metre, or psi, gallon")
    command.add_argument("--done", type=_day, metavar="DATE", help="day of the last passed test (default: today)")
    command.add_argument(
        "--done-in-period",
        type=_done,
        default=1,
        metavar="N",
        help="tests that day's calendar period holds (default 1)",
    )
    command.add_argument("--json", action="store_true", help="print one JSON object on standard output")


def _report(command: argparse.ArgumentParser) -> None:
    command.add_argument("job", type=Path, help="a job file")
    command.add_argument("--out", type=Path, metavar="FILE", help="where to write it (default: beside the job)")
    command.add_argument("--interim", action="store_true", help="before the visit is over: marked DRAFT")
    command.add_argument("--paper", choices=("a4", "letter"), default="a4", help="size of the page (default a4)")
    command.add_argument("--text", action="store_true", help="print it as plain text instead")


def _export(command: argparse.ArgumentParser) -> None:
    command.add_argument("job", type=Path, help="a job file")
    shapes = command.add_mutually_exclusive_group()
    shapes.add_argument("--json", action="store_true", help="print one JSON object (the default)")
    shapes.add_argument("--csv", type=Path, metavar="DIR", help="write CSV files into a folder instead")


def _history(command: argparse.ArgumentParser) -> None:
    command.add_argument("tag", help="tag of the unit, as XV-1101; jobs are looked for in the folder of jobs")
    command.add_argument("--json", action="store_true", help="print one JSON object on standard output")


def _verify(command: argparse.ArgumentParser) -> None:
    command.add_argument("files", nargs="+", type=Path, metavar="FILE", help="job files")
    command.add_argument("--chain", action="store_true", help="only the chain, without recomputing")
    command.add_argument("--salvage", type=Path, metavar="OUT", help="save what is intact of a damaged job")
    command.add_argument("--json", action="store_true", help="print one JSON object on standard output")
