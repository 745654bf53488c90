"""
What a finished run observed: its procedure started again and given the replies that the record holds.

The report draws its curves from this, and `verify` recomputes the figures from it.
"""

from collections.abc import Sequence
from pathlib import Path

import msgspec

from commission.job.bodies import CommandSent, ProcedureAnswered, ProcedureDwelt
from commission.job.fold import happened
from commission.job.motions import Run
from commission.job.state import Job, fold
from commission.procedures.catalogue import CATALOGUE
from commission.procedures.replay import CannotReplay, Recorded, replay
from commission.procedures.requests import Answer, Dwelt, Sent
from commission.record.event import Event
from commission.record.reader import Reader
from commission.sample import Outcome, Sample, SampleOrSilence, Silence
from commission.sheet.decode import Decoder, Readings


class Archive(msgspec.Struct, frozen=True):
    """
    A job as read from its file.

    Args:
        job: Where the visit stood at its last event.

        events: All events in order.

        head: Digest of the last one, hex.
    """

    job: Job
    events: tuple[Event, ...]
    head: str


def read_archive(reader: Reader) -> Archive:
    """
    Read a job.

    Raises:
        RecordError, JobError: it is damaged, or no job.
    """
    events = tuple(reader.events())
    return Archive(fold(events), events, reader.head()[1])


def open_archive(path: Path) -> Archive:
    """
    Read a job from its file.

    Raises:
        RecordError, JobError: as for `read_archive`, or there is none.
    """
    with Reader(path) as reader:
        return read_archive(reader)


def observed_of(job: Job, run: Run, events: Sequence[Event], reader: Reader) -> object:
    """
    What a finished run observed, by starting its procedure again with the recorded replies.

    Raises:
        CannotReplay: the procedure asks for something else than the record holds; the message says where.

        RecordError: a chunk is missing or altered.

        LookupError: this program has no such procedure.
    """
    begun = run.begun
    test = CATALOGUE[begun.procedure]
    return replay(test.start(job.sheet, begun.arguments), _recorded(job, run, events, reader))


def _recorded(job: Job, run: Run, events: Sequence[Event], reader: Reader) -> Recorded:
    decoder = Decoder(job.sheet, run.begun.plan)
    items: list[SampleOrSilence] = []
    for stored in run.chunks:
        chunk = reader.samples(stored.chunk)
        if chunk.plan != run.begun.plan.digest:
            raise CannotReplay(f"chunk {stored.chunk[:12]} was read by another plan than the run's")
        items.extend(chunk.items)
    seen = tuple(_seen(decoder, item) for item in items)
    sent, answers, dwelt = [], [], []
    for event in events:
        body = happened(event).body
        match body:
            case CommandSent(purpose="procedure") if body.run == run.begun.run:
                outcome = Outcome(body.outcome)
                sent.append(
                    Sent(body.role, body.value, body.at_ns, body.half_width_ns, outcome, body.reason, body.code)
                )
            case ProcedureAnswered() if body.run == run.begun.run:
                answers.append((body.sample, Answer(body.question, body.text, event.by, body.at_ns, body.value)))
            case ProcedureDwelt() if body.run == run.begun.run:
                dwelt.append((body.sample, Dwelt(body.seconds, body.shortened)))
            case _:
                pass
    return Recorded(seen=seen, sent=tuple(sent), answers=tuple(answers), dwelt=tuple(dwelt))


def _seen(decoder: Decoder, item: SampleOrSilence) -> Readings | Silence:
    return decoder.decode(item) if isinstance(item, Sample) else item
