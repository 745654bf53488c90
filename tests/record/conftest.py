"""A small job to be read, altered and damaged."""

from pathlib import Path

import pytest

from commission.clock import Clock
from commission.record.writer import Recorder
from tests.record.small_job import Write, fill


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Writes a job of `count` events, closed and at rest."""

    def written(name: str = "XV-1101.job", count: int = 20) -> Path:
        path = tmp_path / name
        with Recorder(path, session="s1", clock=Clock(), new=True) as recorder:
            fill(recorder, count)
        return path

    return written


@pytest.fixture
def job(write: Write) -> Path:
    """A job of twenty events and four chunks, closed and at rest."""
    return write()
