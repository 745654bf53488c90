"""Tests of samples and read plans as the record keeps them."""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.sample import Block, BlockRead, Outcome, ReadPlan, Sample, SampleOrSilence, Silence, Table, Written

PLAN = ReadPlan(11, (Block(Table.INPUT, 10, 8), Block(Table.DISCRETE, 0, 8)))

times = st.integers(min_value=0, max_value=2**63 - 1)
reads = st.builds(BlockRead, times, times, st.lists(st.integers(min_value=0, max_value=65535), max_size=6).map(tuple))
samples = st.builds(
    Sample, st.integers(min_value=0, max_value=2**31), st.lists(reads, min_size=1, max_size=3).map(tuple)
)
silences = st.builds(Silence, st.integers(min_value=0, max_value=2**31), times, times, st.text(max_size=20))


def test_two_tables_hold_bits() -> None:
    """Coils and discrete inputs hold one bit an address (Modbus Application Protocol V1.1b3, 4.3; from memory)."""
    assert [table for table in Table if table.holds_bits] == [Table.COIL, Table.DISCRETE]


def test_the_digest_of_a_plan_is_its_name_for_good() -> None:
    """The digest is fixed by the plan's content; stored chunks are found by it, so it must not drift."""
    assert PLAN.digest == "be92729a8ea96868b4a9e747e346e19c6da346ec8c8c53451deeedd2b20b00fd"
    assert ReadPlan(11, (Block(Table.INPUT, 10, 8), Block(Table.DISCRETE, 0, 8))).digest == PLAN.digest


@pytest.mark.parametrize(
    "other",
    [
        ReadPlan(12, PLAN.blocks),
        ReadPlan(11, PLAN.blocks[::-1]),
        ReadPlan(11, (Block(Table.INPUT, 10, 9), PLAN.blocks[1])),
        ReadPlan(11, (Block(Table.HOLDING, 10, 8), PLAN.blocks[1])),
    ],
    ids=["unit", "order", "count", "table"],
)
def test_another_plan_has_another_digest(other: ReadPlan) -> None:
    """Unit, order, count and table all tell plans apart."""
    assert other.digest != PLAN.digest


def test_a_sample_is_as_old_as_its_last_read() -> None:
    """The time of a cycle is that of its last block."""
    sample = Sample(1, (BlockRead(100, 5, (1,)), BlockRead(220, 6, (0,))))
    assert sample.at_ns == 220


@given(st.lists(samples | silences, max_size=5))
def test_samples_and_silences_come_back_from_json_as_they_were(items: list[SampleOrSilence]) -> None:
    """A list of both, encoded and decoded, is the same list: no sample becomes a silence."""
    text = msgspec.json.encode(items)
    assert msgspec.json.decode(text, type=list[SampleOrSilence]) == items


def test_what_comes_back_for_a_write_has_three_words() -> None:
    """Answered, refused, unanswered: none of them claims that the unit has acted (safety rule R12)."""
    assert [str(outcome) for outcome in Outcome] == ["answered", "refused", "unanswered"]
    assert Written(1, 2, Outcome.ANSWERED).reason == ""
