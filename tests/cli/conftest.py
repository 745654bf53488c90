"""A job file with one timed stroke, made once by a real visit to a practice unit; each test works on a copy."""

import logging
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from commission.cli import output
from commission.content import checklists_folder
from tests.altering import finished_job

SHEET = checklists_folder() / "units" / "xv-1101.toml"
COMMISSIONING = checklists_folder() / "commissioning.toml"
ANSWERS = checklists_folder() / "practice" / "xv-1101.toml"


@pytest.fixture(scope="session")
def one_stroke(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A job in LIVE with the closing stroke timed, its session ended."""
    return finished_job(tmp_path_factory.mktemp("one_stroke"))


@pytest.fixture
def job(one_stroke: Path, tmp_path: Path) -> Path:
    """A copy of it."""
    return Path(shutil.copy(one_stroke, tmp_path / "XV-1101.job"))


@pytest.fixture
def altered(job: Path) -> Path:
    """A job in which one letter of an event was changed by hand."""
    data = bytearray(job.read_bytes())
    place = data.index(b"Tess Placeholder")
    data[place : place + 4] = b"Mess"
    job.write_bytes(data)
    return job


@pytest.fixture(autouse=True)
def library_loggers() -> Iterator[None]:
    """The libraries' loggers, put back as they were."""
    before = {name: list(logging.getLogger(name).handlers) for name in output.LIBRARIES}
    yield
    for name, handlers in before.items():
        logger = logging.getLogger(name)
        for handler in logger.handlers:
            handler.close()
        logger.handlers, logger.propagate = handlers, True
