"""The sequence of events as the report prints it."""

from commission.job import bodies
from commission.report.contents import contents
from commission.report.sequence import NOT_DECIDED, sequence
from commission.report.text import as_text
from tests.report.jobs import DIGEST, MADE, Visit, eventful_visit


def told(*spans_ms: tuple[float, float]) -> Visit:
    """A visit in whose first run the ESD loop tripped and came back in these spans."""
    visit = eventful_visit()
    run = next(iter(visit.job.runs))
    for number, (after_ms, by_ms) in enumerate(spans_ms):
        change = {"esd_healthy": (1 - number % 2, number % 2)}
        body = bodies.BitsChanged(run=run, changes=change, after_ns=round(after_ms * 1e6), by_ns=round(by_ms * 1e6))
        visit.add(body, by="unit")
    return visit


def rows_of(visit: Visit) -> list[tuple[str, ...]]:
    """Rows about the ESD loop."""
    return [row for row in sequence(visit.job).rows if "ESD" in row[3]]


def test_event_has_its_time_how_well_it_is_known_and_its_test() -> None:
    """Between 100 and 140 ms, a scan of 20 ms before that: 110 ± 30."""
    (row,) = rows_of(told((100, 140)))
    assert row[2] == "30 ms"
    assert row[3] == "ESD loop: healthy to tripped"
    assert row[4]
    assert len(row[1].rpartition(".")[2]) == 3


def test_overlap_is_printed_as_not_decided_with_the_numbers() -> None:
    """Two events in neighbouring samples cannot be told apart; one a second later can."""
    first, second, third = rows_of(told((100, 140), (138, 180), (1000, 1040)))
    assert first[5] == f"{NOT_DECIDED} with {second[0]}"
    assert second[5] == f"{NOT_DECIDED} with {first[0]}"
    assert third[5] == ""


def test_many_that_cannot_be_told_apart_are_counted() -> None:
    """Six in the same span: four are named, the fifth is counted."""
    row = rows_of(told(*[(100, 140)] * 6))[0]
    assert row[5].endswith(" and 1 more")


def test_report_prints_a_line_an_event() -> None:
    """In the plain text each event is one line, with the note on what the order means."""
    visit = told((100, 140), (138, 180))
    text = as_text(
        contents(visit.job, visit.traces, head_digest=DIGEST, events=len(visit.events), interim=True, made_utc=MADE)
    )
    assert "SEQUENCE OF EVENTS" in text
    assert "ESD loop: healthy to tripped" in text
    assert "their order is not decided" in " ".join(text.split())
