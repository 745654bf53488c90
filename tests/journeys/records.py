"""What a job file says of its strokes, read as any program would read it."""

from pathlib import Path

from commission.job.motions import Run
from commission.job.playback import Archive, open_archive
from commission.record.chain import check_chain
from commission.record.reader import Reader
from commission.sample import Sample
from commission.sheet.decode import Decoder, Readings

OPENING = "K1-open-1"
"""The first stroke of the walk."""


def archive(job: Path) -> Archive:
    """The job, which must be unaltered."""
    assert check_chain(job).intact, check_chain(job).findings
    return open_archive(job)


def run_of(job: Path, name: str = OPENING) -> Run:
    """One run of the job."""
    return archive(job).job.runs[name]


def ended(run: Run) -> tuple[str, str]:
    """How a run ended, and what became of its safe end."""
    assert run.ended is not None
    return run.ended.how, run.ended.safe_end


def sent_in(run: Run, purpose: str) -> list[str]:
    """The commands of a run that were put on the wire for this purpose."""
    return [sent.role for sent in run.sent if sent.purpose == purpose]


def samples_of(job: Path, name: str = OPENING) -> list[Readings]:
    """All stored samples of a run, decoded."""
    held = archive(job).job
    run = held.runs[name]
    decoder = Decoder(held.sheet, run.begun.plan)
    with Reader(job) as reader:
        items = [item for stored in run.chunks for item in reader.samples(stored.chunk).items]
    return [decoder.decode(item) for item in items if isinstance(item, Sample)]
