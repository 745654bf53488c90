"""A small job to be read, altered and damaged: what is written into it."""

from collections.abc import Callable
from pathlib import Path

from commission.record.chunks import pack
from commission.record.writer import Recorder
from commission.sample import BlockRead, Sample

Write = Callable[..., Path]

PLAN = "ab" * 32


def chunk_of(number: int) -> bytes:
    """A chunk of ten samples."""
    samples = [
        Sample(10 * number + i, (BlockRead(10**9 * number + 10**8 * i, 40_000, (i, 7 * i % 4096, 17)),))
        for i in range(10)
    ]
    return pack(PLAN, samples)


def fill(recorder: Recorder, count: int) -> None:
    """Append `count` events; every fifth names a chunk."""
    for i in range(count):
        body: dict[str, object] = {"remark": f"reading {i}, 5 µm", "bar": 60.25 + i}
        if i % 5 == 4:
            body = {"samples": {"chunk": recorder.append_chunk(chunk_of(i)), "plan": PLAN}}
        recorder.append("remark_made", body, by="T. Placeholder")
