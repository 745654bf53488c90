"""`commission expected`: all that follows from a sheet alone, with where it comes from and what the sheet lacks."""

import argparse
import shutil
import textwrap

import msgspec

from commission.cli import output
from commission.cli.output import Ending, Status
from commission.clock import Clock
from commission.engineering.due import Due
from commission.engineering.expectation import Expectation, Lack, Topic
from commission.engineering.topics import topics_of
from commission.engineering.topics.intervals import Planned, planned
from commission.sheet import Sheet, load_sheet

NARROWEST, WIDEST = 80, 132
NAME, VALUE = 44, 15


def run(chosen: argparse.Namespace) -> Status:
    """Print everything that the sheet lets be told."""
    sheet, _ = load_sheet(chosen.sheet)
    try:
        topics = topics_of(sheet)
        last = Clock().utc().date() if chosen.done is None else chosen.done
        tests = planned(sheet, last, chosen.done_in_period)
    except (ValueError, KeyError) as error:
        raise Ending(f"{chosen.sheet.name}: {str(error).strip(chr(34))}", Status.USAGE) from error
    if chosen.units == "us":
        topics = tuple(_in_us_units(topic) for topic in topics)
    if chosen.json:
        output.data_json(as_json(sheet, topics, tests))
        return Status.DONE
    width = min(max(shutil.get_terminal_size((NARROWEST, 24)).columns, NARROWEST), WIDEST)
    output.data("\n".join(lines_of(sheet, topics, tests, width)))
    return Status.DONE


def lines_of(sheet: Sheet, topics: tuple[Topic, ...], tests: tuple[Planned, ...], width: int) -> list[str]:
    """The whole page: a block a topic, what the sheet lacks, and when tests are due."""
    unit = sheet.identity
    lines = [f"{unit.tag}  {unit.service}, sheet revision {sheet.revision}: what must come out", ""]
    for topic in topics:
        if topic.expected:
            lines += [topic.title, *(line for figure in topic.expected for line in _figure(figure, width)), ""]
    lines += _due(tests, width)
    lacks = [lack for topic in topics for lack in topic.lacks]
    if lacks:
        lines += ["The sheet lacks", *(line for lack in lacks for line in _lack(lack, width)), ""]
    if any(figure.unit == "psi" for topic in topics for figure in topic.expected):
        lines.append("Numbers within names and remarks are the sheet's own, in its units.")
    lines += textwrap.wrap(
        "Gauge pressures. Computed from the sheet alone, nothing measured. Site procedure, permits, local codes and"
        " licensed people win; set points and settings are the owner's engineer's.",
        width,
    )
    return lines


def _figure(figure: Expectation, width: int) -> list[str]:
    """Name and value, then origin and note beside or below them."""
    head = f"  {figure.name:<{NAME}}{figure.text:>{VALUE}}  "
    behind = "; ".join(part for part in (figure.note, figure.origin) if part)
    if len(figure.name) < NAME and len(head) + len(behind) <= width:
        return [f"{head}{behind}".rstrip()]
    return [head.rstrip(), *textwrap.wrap(behind, width, initial_indent=" " * 6, subsequent_indent=" " * 6)]


def _lack(lack: Lack, width: int) -> list[str]:
    return textwrap.wrap(f"{lack.field}: {lack.for_what}", width, initial_indent="  ", subsequent_indent=" " * 6)


def _due(tests: tuple[Planned, ...], width: int) -> list[str]:
    if not tests:
        return []
    lines = [f"Due again, if passed on {tests[0].last.isoformat()}"]
    for test in tests:
        lines.append(f"  {test.what:<{NAME}}{test.due.latest.isoformat():>{VALUE}}")
        words = f"{test.rule.words} ({test.rule.source}); chosen by {test.chosen_by}{_clocks(test.due)}"
        lines += textwrap.wrap(words, width, initial_indent=" " * 6, subsequent_indent=" " * 6)
    return [*lines, ""]


def _clocks(due: Due) -> str:
    """Both clocks and which binds, where there are two; what had to be read into the words."""
    reading = f"; {due.reading}" if due.reading else ""
    if due.by_interval is None or due.by_calendar is None:
        return reading
    dates = f"interval {due.by_interval.isoformat()}, calendar {due.by_calendar.isoformat()}"
    return f"; {dates}: the {due.binds} binds{reading}"


def as_json(sheet: Sheet, topics: tuple[Topic, ...], tests: tuple[Planned, ...]) -> dict[str, object]:
    """One object: figures by topic, what is lacking, tests due. A stroke that never ends has the value null."""
    return {
        "tag": sheet.identity.tag,
        "revision": sheet.revision,
        "topics": [
            {
                "title": topic.title,
                "expected": [
                    {**msgspec.to_builtins(figure), "value": _finite(figure.value), "text": figure.text}
                    for figure in topic.expected
                ],
                "lacks": msgspec.to_builtins(topic.lacks),
            }
            for topic in topics
        ],
        "due": [
            {
                "what": test.what,
                "last": test.last.isoformat(),
                "latest": test.due.latest.isoformat(),
                "by_interval": test.due.by_interval and test.due.by_interval.isoformat(),
                "by_calendar": test.due.by_calendar and test.due.by_calendar.isoformat(),
                "binds": test.due.binds,
                "reading": test.due.reading,
                "words": test.rule.words,
                "source": test.rule.source,
                "chosen_by": test.chosen_by,
            }
            for test in tests
        ],
    }


def _finite(value: float) -> float | None:
    return None if value in (float("inf"), float("-inf")) else value


def _in_us_units(topic: Topic) -> Topic:
    return msgspec.structs.replace(topic, expected=tuple(figure.in_us_units() for figure in topic.expected))
