"""Samples go into a chunk and come back exactly."""

import zlib

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.record.chunks import FORMAT, Chunk, pack, unpack
from commission.record.errors import RecordDamaged
from commission.sample import BlockRead, Sample, SampleOrSilence, Silence

NS = st.integers(-(2**63), 2**63 - 1)
READS = st.builds(
    BlockRead,
    at_ns=NS,
    half_width_ns=st.integers(0, 10**12),
    words=st.lists(st.integers(0, 0xFFFF), max_size=20).map(tuple),
)
ITEMS = st.builds(Sample, number=st.integers(0, 2**40), reads=st.lists(READS, max_size=4).map(tuple)) | st.builds(
    Silence, number=st.integers(0, 2**40), since_ns=NS, at_ns=NS, reason=st.text()
)
PLAN = "5a" * 32


@given(st.lists(ITEMS, max_size=30))
def test_round_trip_is_exact(items: list[SampleOrSilence]) -> None:
    """Registers, nanoseconds, silences and their order come back to the letter."""
    assert unpack(pack(PLAN, items)) == Chunk(PLAN, tuple(items))


@given(st.binary(max_size=200))
def test_other_bytes_are_refused_in_words(data: bytes) -> None:
    """Whatever the bytes, the answer is a chunk or a sentence."""
    with pytest.raises(RecordDamaged):
        unpack(data)


def test_a_later_format_is_named() -> None:
    """A chunk of a later format says so rather than coming out wrong."""
    data = bytearray(pack(PLAN, []))
    data[2] = FORMAT + 1
    with pytest.raises(RecordDamaged, match=f"format {FORMAT + 1}; this program reads format {FORMAT}"):
        unpack(bytes(data))


@pytest.mark.parametrize(
    "damage", [lambda d: d[:-4], lambda d: d + b"x", lambda d: d[:3]], ids=["cut", "longer", "no body"]
)
def test_a_cut_or_longer_chunk_is_refused(damage: object) -> None:
    """A chunk ends where it says."""
    assert callable(damage)
    with pytest.raises(RecordDamaged):
        unpack(damage(pack(PLAN, [Silence(1, 0, 10, "no answer")])))


def test_a_chunk_that_would_fill_the_memory_is_refused() -> None:
    """A few kilobytes that expand to far more than any chunk are not expanded."""
    bomb = b"SC\x01" + zlib.compress(b"\0" * (65 * 2**20), 9)
    with pytest.raises(RecordDamaged, match="does not end"):
        unpack(bomb)


def test_a_number_beyond_64_bits_is_refused() -> None:
    """A time that no clock gives is refused when packed."""
    with pytest.raises(ValueError, match="64 bits"):
        pack(PLAN, [Silence(1, 2**70, 0, "")])


def test_a_second_of_samples_is_small() -> None:
    """Twenty samples of sixty registers take less than a sixth of their JSON text."""
    samples = [
        Sample(i, (BlockRead(10**9 + 50_000_000 * i, 400_000, tuple(1000 + (i * w) % 50 for w in range(60))),))
        for i in range(20)
    ]
    assert len(pack(PLAN, samples)) < len(msgspec.json.encode(samples)) / 6
