"""Safety rule R25: events whose time intervals overlap are printed as "order not decided"."""

from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from commission.job.bodies import Body
from commission.job.fold import Happened
from commission.job.sequence import Happening, fold_sequence, numbered
from commission.procedures.full_stroke import full_stroke
from commission.report.sequence import NOT_DECIDED, order_words, sequence
from commission.sheet import End
from tests.job.told import event_of
from tests.report.test_sequence import told
from tests.supervise.rig import rig
from tests.virtual_time import run_virtual

SPANS_MS = st.lists(st.tuples(st.integers(0, 400), st.integers(1, 50)), min_size=2, max_size=6)


@given(SPANS_MS)
def test_r25_overlap_is_always_printed_and_never_more_than_that(drawn: list[tuple[int, int]]) -> None:
    """Whatever was seen when: a row says that its order is not decided exactly where its span meets another."""
    visit = told(*((after, after + length) for after, length in drawn))
    items = numbered(visit.job.sequence)
    rows = sequence(visit.job).rows
    for item, row in zip(items, rows, strict=True):
        meets = [
            other.number
            for other in items
            if other.number != item.number and item.happening.span.overlaps(other.happening.span)
        ]
        assert list(item.undecided) == meets
        assert (NOT_DECIDED in row[5]) is bool(meets)
        assert row[5] == order_words(item)


def test_r25_order_of_a_stroke_holds_the_true_order(tmp_path: Path) -> None:
    """On the practice unit the command comes before the limit that drops, and that before the one that makes."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            await site.run(full_stroke(site.sheet, End.CLOSED, "K1 closed 1"))
            happened: tuple[Happening, ...] = ()
            for number, body in enumerate(site.bodies(Body), start=1):
                event = event_of(body, number, at_mono_ns=site.clock.unit_ns())
                happened = fold_sequence(happened, Happened(event, body), site.sheet)
            place = {item.happening.words.partition(" sent")[0]: item for item in numbered(happened)}
            command = place["command close"]
            dropped = place["open limit: made to not made"]
            made = place["closed limit: not made to made"]
            assert command.number < dropped.number < made.number
            assert made.number not in dropped.undecided

    run_virtual(main())
