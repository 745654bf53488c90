"""The tables of the report that are not runs: who, on which permit, with which energy, clocks and instruments."""

from datetime import datetime

from commission.energy import Fact
from commission.job import state
from commission.job.energy import Crossed
from commission.job.lists import Deviation, Temporary
from commission.report.display import clock_text, date_text
from commission.report.table import Row, Table


def people(job: state.Job) -> Table:
    """Who took part, and what each signed."""
    signed: dict[str, list[str]] = {}
    for signature in job.register.signatures:
        at = clock_text(signature.at_utc, date_text(job.begun_utc))
        text = f"“{signature.signed.statement}” as {signature.signed.role}, {at}, {signature.signed.how}"
        signed.setdefault(signature.by, []).append(text)
    known = [
        (person.name, person.role, person.reference or "none given", "; ".join(signed.pop(person.name, ["not signed"])))
        for person in job.register.people.values()
    ]
    others = [(name, "not listed", "none given", "; ".join(texts)) for name, texts in signed.items()]
    return Table(title="People", columns=("name", "role", "reference", "signed"), rows=(*known, *others))


def permits(job: state.Job) -> Table:
    """Paper permits to work with their gas tests."""
    day = date_text(job.begun_utc)
    rows = tuple(
        (permit.number, clock_text(permit.until_utc, day), permit.gas_test, permit.tester)
        for permit in job.register.permits
    )
    return Table(
        title="Permit to work", columns=("number", "until", "gas test", "tested by"), rows=rows, empty="none recorded"
    )


def energy(job: state.Job) -> Table:
    """Every crossing of the energy state: when, whose word, how many people, how many locks."""
    day = date_text(job.begun_utc)
    rows = tuple(
        (
            clock_text(entry.at_utc, day),
            _way(job, entry),
            entry.by,
            "not counted" if entry.people is None else str(entry.people),
            str(entry.locks),
            _reason(job, entry) or _proof(job, entry),
        )
        for entry in job.energy_log.crossed
    )
    columns = ("time", "from → to", "whose word", "people", "locks", "evidence or reason")
    return Table(title="Energy log", columns=columns, rows=rows)


def _way(job: state.Job, entry: Crossed) -> str:
    """From where to where; an entry that stays where it is has no arrow, and the first one opens the record."""
    if entry.source != entry.target:
        return f"{entry.source} → {entry.target}"
    return f"{'new job' if entry is job.energy_log.crossed[0] else 'still'}: {entry.target}"


def _reason(job: state.Job, entry: Crossed) -> str:
    opens = entry.source == entry.target and entry is job.energy_log.crossed[0]
    return "not known before somebody has said it" if opens else entry.reason


_SAID = (
    "as operations left it",
    "dump held",
    "pump hand named",
    "process agreed",
    "controller agrees",
    "controller takes over",
)
"""Facts whose own words are shown in the log."""


def _proof(job: state.Job, entry: Crossed) -> str:
    """The evidence of a crossing in one line: locks, zeros, meter, who said what; else the facts by name."""
    facts = entry.facts
    parts = [
        _listed("locks ", _by_owner(_of(facts, "locked"))),
        _listed("off: ", _by_owner(_of(facts, "lock removed"))),
        _listed("zero: ", [_reading(job, fact) for fact in _of(facts, "zero")]),
        *(_meter(fact) for fact in _of(facts, "proved dead")),
        *(fact.fact for fact in _of(facts, "try-start failed")),
        *(_said(fact) for fact in _of(facts, *_SAID)),
    ]
    return "; ".join(part for part in parts if part) or ", ".join(dict.fromkeys(fact.fact for fact in facts))


def _of(facts: tuple[Fact, ...], *names: str) -> list[Fact]:
    return [fact for fact in facts if fact.fact in names]


def _listed(before: str, items: list[str]) -> str:
    return before + ", ".join(items) if items else ""


def _by_owner(locks: list[Fact]) -> list[str]:
    """Locks with their numbers, and after each owner's the name."""
    owners: dict[str, list[str]] = {}
    for fact in locks:
        owners.setdefault(fact.by, []).append(f"{fact.subject} {fact.details.get('number', '')}".rstrip())
    return [f"{', '.join(items)} ({owner})" for owner, items in owners.items()]


def _reading(job: state.Job, fact: Fact) -> str:
    gauge = next((volume.gauge for volume in job.sheet.volumes if volume.id == fact.subject), "")
    return f"{gauge or fact.subject} {float(fact.details.get('bar', 0.0)):.1f} bar"


def _meter(fact: Fact) -> str:
    volts = [str(fact.details.get(name, "?")) for name in ("live_before_v", "dead_v", "live_after_v")]
    return f"meter {' / '.join(volts)} V"


def _said(fact: Fact) -> str:
    return f"{fact.fact}: {fact.details.get('text', fact.by)}"


def temporary(job: state.Job) -> Table:
    """Everything temporary, on and off again."""
    day = date_text(job.begun_utc)
    return Table(
        title="Temporary list",
        columns=("what", "where", "why", "on", "off", "second person, proof"),
        rows=tuple(_temporary(item, day) for item in job.temporary.values()),
        empty="nothing temporary was recorded",
    )


def _temporary(item: Temporary, day: str) -> Row:
    added, removed = item.added, item.removed
    on = f"{clock_text(item.on_utc, day)} {item.by}"
    off = "STILL ON" if removed is None else f"{clock_text(item.off_utc, day)} {item.off_by}"
    proof = "none" if removed is None else f"{removed.second_person}; {removed.proved_by}"
    return (added.what, added.where, added.why, on, off, proof)


def deviations(job: state.Job) -> Table:
    """Every deviation with its class, owner and acceptance; nothing is ever taken off."""
    columns = ("no.", "class", "step", "required", "found", "risk", "owner, due", "accepted")
    return Table(
        title="Deviations",
        columns=columns,
        rows=tuple(_deviation(item) for item in job.deviations.values()),
        notes=("Classes: A before start-up, B within a date, C note.",) if job.deviations else (),
    )


def _deviation(item: Deviation) -> Row:
    raised = item.raised
    accepted = "not accepted"
    if item.accepted is not None:
        accepted = f"{item.accepted_by}: {item.accepted.reason}".rstrip(": ")
    owner = ", ".join(part for part in (raised.owner, raised.due) if part) or "no owner"
    return (raised.id, raised.classed, raised.step, raised.required, raised.found, raised.risk, owner, accepted)


def instruments(job: state.Job) -> Table:
    """What was measured with; one past its date on the day of the visit is marked, its readings are not lost."""
    day = date_text(job.begun_utc)
    rows = tuple(
        (
            item.id,
            item.what,
            item.range,
            item.uncertainty,
            item.certificate,
            f"{item.due} OUT OF DATE" if _is_past(item.due, day) else item.due,
        )
        for item in job.register.instruments.values()
    )
    columns = ("id", "instrument", "range", "uncertainty", "certificate", "due")
    return Table(title="Instruments", columns=columns, rows=rows, empty="none recorded")


def _is_past(due: str, day: str) -> bool:
    try:
        return datetime.fromisoformat(due) < datetime.fromisoformat(day)
    except (ValueError, TypeError):
        return False


def adjustments(job: state.Job) -> Table:
    """What was touched between as-found and as-left."""
    day = date_text(job.begun_utc)
    rows = tuple(
        (clock_text(item.at_utc, day), _touched(job, item.adjusted.touched), item.adjusted.detail, item.by)
        for item in job.contact.adjustments
    )
    return Table(
        title="Adjustments", columns=("time", "touched", "detail", "by"), rows=rows, empty="nothing was adjusted"
    )


def _touched(job: state.Job, name: str) -> str:
    rule = job.checklist.voids.get(name)
    return name if rule is None else rule.touched


def clock_statement(job: state.Job) -> tuple[str, ...]:
    """The laptop's clock against another, at start and end, with the drift between."""
    day = date_text(job.begun_utc)
    compared = job.register.clocks
    if not compared:
        return ("The laptop's clock was not compared with any other: all times are the laptop's own.",)
    lines = [
        f"{item.compared.when.capitalize()}, {clock_text(item.at_utc, day)}: laptop {_ahead(item.compared.offset_s)} "
        f"{_by_voice(item.compared.against)}"
        for item in compared
    ]
    if len(compared) == 1:
        return (*lines, "Compared once only: drift unknown.")
    first, last = compared[0], compared[-1]
    drift = last.compared.offset_s - first.compared.offset_s
    return (*lines, f"Drift over the visit {drift:+g} s ± 2 s.")


def _by_voice(against: str) -> str:
    return f"{against} (± 1 s)." if "by voice" in against else f"{against} (± 1 s, by voice)."


def _ahead(offset_s: float) -> str:
    if offset_s == 0:
        return "equal to"
    return f"{abs(offset_s):g} s {'ahead of' if offset_s > 0 else 'behind'}"
