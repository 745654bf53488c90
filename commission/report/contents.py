"""
Everything the report says, as text: what PDF, plain text and screens print, and what the exports agree with.

`contents` reads the folded job and nothing else; curves are handed in.
"""

from collections.abc import Mapping, Sequence

import msgspec

from commission.job import state
from commission.job.motions import Run
from commission.report import sections
from commission.report.display import clock_text, date_text, duration_text
from commission.report.figures import run_name
from commission.report.head import head_code
from commission.report.monitor import noted as monitor_noted
from commission.report.monitor import proofs, transmitter, trips
from commission.report.outcome import Outcome, outcome
from commission.report.partial import checked, comparison
from commission.report.partial_bands import pressure_bands, travel_bands
from commission.report.plot import Mark, stroke_plot
from commission.report.protections import protections
from commission.report.readings import in_words, readings
from commission.report.sequence import sequence
from commission.report.series import budgets, together
from commission.report.spans import Spans, spans
from commission.report.spans import noted as spans_noted
from commission.report.strokes import (
    CLOSING,
    OPENING,
    PARTIAL,
    Strokes,
    by_direction,
    noted,
    rules_of,
    strokes,
)
from commission.report.table import Table
from commission.report.trace import Trace
from commission.report.wiring import point_to_point, wiring
from commission.report.worst_day import worst_day_sentence

PRACTICE = "PRACTICE"
DRAFT = "DRAFT"

_LIMITS = (
    (
        "This is not a safety system, not a certificate and not a statement that any rule or law is complied with."
        " Site procedure, permits, local codes and licensed people win; where they disagree with this program, that is"
        " recorded."
    ),
    "What is not listed as tested was not proved. A simulated result proves the action, not the sensor or the cause.",
    (
        "Times are the laptop's clock in UTC. Uncertainties are expanded, for about 95 %, from timing, scatter and"
        " resolution; a transmitter's own error is in them only where said."
    ),
)
_PRACTICE_SAYS = (
    "PRACTICE. This job was run, in whole or in part, against a practice unit or from an answers file:"
    " it proves nothing about a real unit."
)
_PARTIAL_FROM_PCT = 80.0
"""Where the scale of travel begins for a partial stroke of a valve that stands open."""

_UNSIGNED = (
    "The record behind this report is a chain of digests without a signature. Unless its head was noted outside, it"
    " proves neither its end nor its origin."
)


class Plot(msgspec.Struct, frozen=True):
    """A plot: the drawing as SVG, its caption, and what it shows in words for those who do not see it."""

    direction: str
    svg: str
    caption: str
    alternative: str


class Contents(msgspec.Struct, frozen=True, kw_only=True):
    """
    The report as text.

    Args:
        title: As `As-left report XV-1101`.

        tag: Tag of the unit.

        marks: `PRACTICE`, `DRAFT`, both or none: printed on each page.

        head: Short code of the head digest and the digest in hex, on each page.

        made: When the report was made.

        made_utc: The same, RFC 3339.

        identification: Label and text.

        outcome: The statement.

        strokes: Runs by direction.

        comparison: The first partial stroke held against a baseline, figure by figure.

        checked: What was looked at before the latest partial stroke.

        spans: 4–20 mA loops.

        protections: Each with its cause, limit, witness and times.

        trips: Tests of the pressure monitor.

        transmitter: Its transmitter, point by point.

        trip_proofs: What a trip withstands, and what its loop's faults do.

        together: Strokes of a step compared: repeatability, asymmetry, friction and spring.

        budgets: The uncertainty of figures, line by line.

        sequence: Every bit that changed and every command, in order as far as that is known (safety rule R25).

        rules: Decision rules; verdicts name them by number from 1.

        plots: One for each direction that has a trace.

        clocks: The clock statement, a line each.

        limits: What this report is not, a paragraph each.

        verification: How to check the file, a line each.

        notices: What a reader must know first: practice, or what the program could not read.

        noted: As-found failures, directions whose stem nobody looked at, and the worst day: for page one.
    """

    title: str
    tag: str
    marks: tuple[str, ...]
    head: tuple[str, str]
    made: str
    made_utc: str
    identification: tuple[tuple[str, str], ...]
    outcome: Outcome
    deviations: Table
    people: Table
    permits: Table
    energy: Table
    temporary: Table
    adjustments: Table
    readings: Table
    in_words: Table
    instruments: Table
    wiring: Table
    point_to_point: Table
    strokes: tuple[Strokes, ...]
    comparison: Table
    checked: Table
    spans: tuple[Spans, ...]
    protections: Table
    trips: Table
    transmitter: Table
    trip_proofs: Table
    together: Table
    budgets: Table
    sequence: Table
    rules: tuple[str, ...]
    plots: tuple[Plot, ...]
    clocks: tuple[str, ...]
    limits: tuple[str, ...]
    verification: tuple[str, ...]
    notices: tuple[str, ...]
    noted: tuple[str, ...]


def contents(
    job: state.Job,
    traces: Mapping[str, Trace],
    *,
    head_digest: str,
    events: int,
    interim: bool,
    made_utc: str,
    chain_signed: str = "",
) -> Contents:
    """
    The report on a job.

    Args:
        job: As folded.

        traces: By run id; a run without one is listed without a plot.

        head_digest: Digest of the record's last event, hex.

        events: How many events the record holds.

        interim: A draft, made before the end.

        made_utc: When it is made, RFC 3339.

        chain_signed: Who signed the chain and with what; empty where nobody did (safety rule R27).
    """
    return Contents(
        title=f"As-left report {job.tag}",
        tag=job.tag,
        marks=tuple(mark for mark, wanted in ((PRACTICE, job.practice), (DRAFT, interim)) if wanted),
        head=(head_code(head_digest), head_digest),
        made=f"{clock_text(made_utc)} UTC",
        made_utc=made_utc,
        identification=_identification(job),
        outcome=outcome(job, interim=interim),
        deviations=sections.deviations(job),
        people=sections.people(job),
        permits=sections.permits(job),
        energy=sections.energy(job),
        temporary=sections.temporary(job),
        adjustments=sections.adjustments(job),
        readings=readings(job),
        in_words=in_words(job),
        instruments=sections.instruments(job),
        wiring=wiring(job),
        point_to_point=point_to_point(job),
        strokes=strokes(job),
        comparison=comparison(job),
        checked=checked(job),
        spans=spans(job, rules_of(job)),
        protections=protections(job),
        trips=trips(job, rules_of(job)),
        transmitter=transmitter(job),
        trip_proofs=proofs(job),
        together=together(job),
        budgets=budgets(job),
        sequence=sequence(job),
        rules=rules_of(job),
        plots=_plots(job, traces),
        clocks=sections.clock_statement(job),
        limits=(*_LIMITS, f"Chain of the record signed: {chain_signed}." if chain_signed else _UNSIGNED),
        verification=_verification(head_digest, events),
        notices=_notices(job),
        noted=(*noted(job), *spans_noted(job), *monitor_noted(job), *filter(None, (worst_day_sentence(job),))),
    )


def _identification(job: state.Job) -> tuple[tuple[str, str], ...]:
    unit, first, last = job.sheet.identity, date_text(job.begun_utc), date_text(job.last_utc)
    checklist = job.opened.checklist[0]
    return (
        ("owner", unit.owner or "not given"),
        ("site", unit.site or "not given"),
        ("tag", unit.tag),
        ("service", unit.service),
        ("serial (sheet)", unit.serial),
        ("firmware (sheet)", unit.firmware or "not given"),
        ("valve", f"{job.sheet.valve.kind}, {job.sheet.valve.size}"),
        ("actuator", _actuator(job)),
        ("test", f"{job.checklist.name}, revision {job.checklist.revision}"),
        ("dates", first if first == last else f"{first} to {last}"),
        ("begun, last entry", f"{clock_text(job.begun_utc, first)}, {clock_text(job.last_utc, first)} UTC"),
        ("connection", _connection(job)),
        ("checklist", f"{checklist.name} sha256 {checklist.digest[:16]}"),
        ("sheet", f"{job.opened.sheet.name} revision {job.sheet.revision} sha256 {job.opened.sheet.digest[:16]}"),
        ("program", f"commission {job.opened.program_version}"),
    )


def _actuator(job: state.Job) -> str:
    actuator = job.sheet.actuator
    fails = "no fail position" if actuator.fail_position is None else f"fails {actuator.fail_position}"
    return f"{actuator.action}, {fails}"


def _connection(job: state.Job) -> str:
    connected = job.contact.connected
    if connected is None:
        return "never connected"
    lost = f", contact lost {job.contact.losses} time(s)" if job.contact.losses else ""
    return f"{connected.url}, round trip {connected.round_trip_p50_s * 1000:.0f} ms{lost}"


def _plots(job: state.Job, traces: Mapping[str, Trace]) -> tuple[Plot, ...]:
    found = []
    for direction, runs in by_direction(job).items():
        traced = [run for run in runs if run.begun.run in traces and traces[run.begun.run].time_s]
        if traced and direction in (OPENING, CLOSING, PARTIAL):
            found.append(_plot(direction, traced, traces))
    return tuple(found)


def _plot(direction: str, runs: Sequence[Run], traces: Mapping[str, Trace]) -> Plot:
    """The latest run that stands, over the first where that is another one."""
    standing = [run for run in runs if not run.voided_by and run.figures]
    last = (standing or list(runs))[-1]
    first = runs[0] if runs[0] is not last else None
    last_name = run_name(last)
    compared = f", with {run_name(first)} for comparison (dotted)" if first is not None else ""
    bands = pressure_bands(last, traces[last.begun.run])
    grounds = travel_bands(last, traces[last.begun.run])
    low_pct = _PARTIAL_FROM_PCT if direction == PARTIAL else 0.0
    other = None if first is None else _named(traces, first)
    svg = stroke_plot(_named(traces, last), other, _marks(last), bands, low_pct, grounds)
    banded = " Grey: where the baseline expects travel, back from where it turned." if grounds else ""
    banded += " Upright bars: its band of the pressure at that travel." if bands else ""
    caption = f"{direction.capitalize()}, {last_name}: travel (solid) and cylinder pressure (dashed){compared}.{banded}"
    alternative = f"Travel in percent and cylinder pressure in bar against seconds, {direction}, {last_name}{compared}"
    return Plot(direction, svg, caption, alternative)


def _named(traces: Mapping[str, Trace], run: Run) -> Trace:
    """The run's curve under the name that the report calls it by."""
    return msgspec.structs.replace(traces[run.begun.run], run=run_name(run))


def _marks(run: Run) -> tuple[Mark, ...]:
    found = [Mark(0.0, "command")] if any(sent.purpose == "procedure" for sent in run.sent) else []
    for name, words in (("dead_time", "first motion"), ("response_time", "end limit")):
        figure = run.figure(name)
        if figure is not None and not figure.lower_bound_only:
            found.append(Mark(float(figure.decimal), words))
    return tuple(found)


def _verification(head_digest: str, events: int) -> tuple[str, ...]:
    return (
        (
            "With the job file, commission verify FILE says whether the record is unaltered and recomputes its figures;"
            " the head it names must be the one at the foot of each page here."
        ),
        f"Record: {events} events; head {head_code(head_digest)}; SHA-256 {head_digest}.",
        "The record's own facts are attached to this PDF as record.json.",
    )


def _notices(job: state.Job) -> tuple[str, ...]:
    lines = [
        f"The record holds {count} event(s) of the unknown kind {kind}." for kind, count in job.unknown_kinds.items()
    ]
    if job.read_only:
        lines.append(f"Read only: {job.read_only}.")
    return (*([_PRACTICE_SAYS, *_shortened(job)] if job.practice else []), *lines)


def _shortened(job: state.Job) -> list[str]:
    """That waits were shortened, and that time on a practice unit is not the clock's."""
    waits = job.register.shortened
    connected = job.contact.connected
    speed = None if connected is None else connected.practice_speed
    parts = []
    if waits:
        plural = "wait" if len(waits) == 1 else "waits"
        parts.append(
            f"{len(waits)} {plural} shortened on practice, {duration_text(sum(w.seconds for w in waits))} in all"
        )
    if speed is not None and speed != 1:
        parts.append(f"the practice unit's time, which the record keeps, ran {speed:g} times as fast as the clock")
    text = "; ".join(parts)
    return [f"{text[0].upper()}{text[1:]}."] if text else []
