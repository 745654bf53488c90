"""`commission check`: is this checklist, sheet or answers file sound? All mistakes together, each with its place."""

import argparse
from pathlib import Path

from commission.checklist import load_checklist
from commission.cli import output
from commission.cli.answers_file import load_answers
from commission.cli.output import Status
from commission.content import ContentError, Problem, parse_toml, read_text
from commission.sheet import load_sheet
from commission.walk.soundness import check_walk


def run(chosen: argparse.Namespace) -> Status:
    """Check files, or print a schema."""
    if chosen.schema:
        return _print_schema(chosen.schema)
    if not chosen.files:
        raise output.Ending("name at least one file to check", Status.USAGE)
    found = {str(path): check_file(path) for path in chosen.files}
    if chosen.json:
        listed = [
            {"file": name, "problems": [str(problem) for problem in problems]} for name, problems in found.items()
        ]
        output.data_json({"files": listed})
    for name, problems in found.items():
        for problem in problems:
            output.say(str(problem))
        output.say(f"{name}: {_summary(problems)}")
    return Status.USAGE if any(found.values()) else Status.DONE


def check_file(path: Path) -> list[Problem]:
    """Everything that is wrong with one file, whatever kind of file it says it is."""
    try:
        tables = parse_toml(read_text(path))
        if "identity" in tables or "points" in tables:
            load_sheet(path)
        elif "answers" in tables:
            load_answers(path)
        elif tables.keys() & {"steps", "cautions", "voids", "temporary", "include"}:
            checklist, _ = load_checklist(path)
            return check_walk(checklist, path.name)
        else:
            return [
                Problem(
                    path.name,
                    "",
                    "",
                    "neither sheet, checklist nor answers",
                    "a table [identity], [[steps]] or [[answers]]",
                )
            ]
    except ContentError as error:
        return list(error.problems)
    return []


def _summary(problems: list[Problem]) -> str:
    if not problems:
        return "sound"
    return f"{len(problems)} problem{'' if len(problems) == 1 else 's'}"


def _print_schema(kind: str) -> Status:
    from commission.checklist.read import checklist_schema  # noqa: PLC0415  # only for editors
    from commission.sheet.schema import sheet_schema  # noqa: PLC0415  # only for editors

    output.data_json(sheet_schema() if kind == "sheet" else checklist_schema())
    return Status.DONE
