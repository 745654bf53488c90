"""`commission run`: a visit, question by question; from answers only where the link proves to be a practice unit."""

import argparse
import asyncio
from pathlib import Path
from typing import Any

from commission.cli import output
from commission.cli.answers_file import Answers, load_answers
from commission.cli.crew import Crew
from commission.cli.host import Ended, hold
from commission.cli.opening import checklist_of, is_job, open_visit
from commission.cli.output import Ending, Status
from commission.cli.site import Site
from commission.cli.typed_lines import TypedLines
from commission.cli.typist import Typist
from commission.clock import Clock
from commission.face.dialogue import Left, walk
from commission.face.job_file import read_job
from commission.face.metered import Metered, opened_meter
from commission.face.report_file import write_report
from commission.job.playback import open_archive
from commission.link.meeting import prove_practice
from commission.link.ports import demand_quiet
from commission.link.url import Address, parse_url
from commission.report.outcome import outcome
from commission.sheet import End, load_sheet
from commission.supervise.surroundings import People
from commission.visit import Visit
from commission.walk import route

NOT_SAFETY = (
    "Not a safety system. Site procedure, permits, local codes and licensed people win; record where they disagree.\n"
    "Times are UTC."
)


def run(chosen: argparse.Namespace) -> Status:
    """
    Hold the visit that the command line names.

    Raises:
        Ending: a job is to go on with another checklist than its own.
    """
    if getattr(chosen, "checklist", None) is not None and is_job(chosen.sheet):
        raise Ending(
            f"{chosen.sheet} goes on with the checklist it was begun with; a new job beside it, from what it holds:"
            f" commission retest {chosen.sheet} --checklist {chosen.checklist}",
            Status.USAGE,
        )
    return visit_from(chosen, checklist_of(chosen, "commissioning.toml"), None)


def visit_from(chosen: argparse.Namespace, checklist: Path, direction: End | None, *, again: bool = False) -> Status:
    """
    Hold a visit, whole, or one stroke of it.

    Args:
        chosen: The command line: sheet, connect, answers, site, out, json.

        checklist: For a new job.

        direction: The stroke wanted; None for the whole walk.

        again: Whether the job named is an earlier one, beside which a new one is begun.
    """
    output.quiet_library_logs()
    output.say(NOT_SAFETY)
    parse_url(chosen.connect)  # a wrong address is said before anybody is asked anything
    answers = None if chosen.answers is None else load_answers(chosen.answers)[0]
    site = None if chosen.site is None else Site(chosen.site)
    return asyncio.run(_hold(chosen, checklist, direction, answers, site, again=again))


async def _hold(
    chosen: argparse.Namespace,
    checklist: Path,
    direction: End | None,
    answers: Answers | None,
    site: Site | None,
    *,
    again: bool,
) -> Status:
    clock = Clock()
    speaker: Typist | Crew
    if answers is None:
        speaker = Typist(TypedLines(), chosen.connect)
    else:
        await _require_practice(chosen.sheet, parse_url(chosen.connect), clock)
        speaker = Crew(answers, site)
    meter = None if not (named := getattr(chosen, "meter", "")) else await opened_meter(named, clock)
    people: People = speaker if meter is None else Metered(speaker, meter, clock)
    visit = open_visit(chosen.sheet, chosen.out, checklist, clock, people, "program", again=again)
    status = Status.DONE
    try:
        status = Status(await hold(visit, _converse(visit, speaker, chosen.connect, direction)))
    except (Left, Ended) as left:
        output.say(f"{left}. Everything is in {visit.path}; the same command on that file goes on from here.")
        status = Status.UNREACHED if isinstance(left, Left) and left.unreached else Status.DEVIATIONS
    finally:
        if meter is not None:
            meter.close()
    return _finish(visit.path, status, as_json=chosen.json)


async def _require_practice(sheet_or_job: Path, address: Address, clock: Clock) -> None:
    """
    Answers from a file are for practice units only: that is asked, and nothing is read before (safety rule R15).

    Raises:
        Ending: the unit does not prove to be one.
    """
    sheet = open_archive(sheet_or_job).job.sheet if is_job(sheet_or_job) else load_sheet(sheet_or_job)[0]
    await demand_quiet(address, clock)
    if await prove_practice(address, sheet, clock) is None:
        raise Ending("answers from a file are taken only where the unit proves to be a practice unit", Status.USAGE)


async def _converse(visit: Visit, speaker: Typist | Crew, url: str, direction: End | None) -> int:
    if isinstance(speaker, Typist):
        await speaker.introduce(visit)
    else:
        await visit.connect(url, other_master="none: a practice unit", agreed_by="nobody: practice", by="program")
    await walk(visit, speaker, direction)
    return Status.DONE


def _finish(job: Path, status: Status, *, as_json: bool) -> Status:
    """Write the report of the visit as it stands; the status of its verdict."""
    read = read_job(job)
    interim = route.current(read.archive.job) is not None
    pdf = job.with_suffix(".pdf")
    write_report(read, pdf, interim=interim, paper="a4")
    said = outcome(read.archive.job, interim=interim)
    output.say(f"{said.words[0].upper()}{said.words[1:]}. Record {job}, report {pdf}.")
    for against in said.against:
        output.say(f"  against: {against}")
    if status is Status.DONE and (said.against or said.not_tested or said.simulated):
        status = Status.DEVIATIONS
    if as_json:
        output.data_json(_summary(job, pdf, said.words, said.against, status))
    return status


def _summary(job: Path, pdf: Path, words: str, against: tuple[str, ...], status: Status) -> dict[str, Any]:
    return {"job": str(job), "report": str(pdf), "outcome": words, "against": list(against), "status": int(status)}
