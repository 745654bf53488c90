"""A job told event by event, with the small checklist: what the job tests are made of."""

from datetime import UTC, datetime, timedelta
from typing import Any

import msgspec

from commission.content import Text
from commission.energy import EnergyState, missing
from commission.job import bodies
from commission.job.bodies import Body
from commission.job.fold import Happened
from commission.job.state import Job, needed, opened
from commission.record.event import Event
from commission.sample import Block, ReadPlan, Table
from commission.sheet import Sheet
from tests.checklist.small import texts
from tests.energy.way import TESS, good
from tests.sheet.xv import PATH, xv_text

START = datetime(2026, 5, 12, 6, 40, tzinfo=UTC)
PLAN = ReadPlan(11, (Block(Table.INPUT, 10, 4),))


def event_of(told: Body, n: int = 1, by: str = TESS, **changes: Any) -> Event:
    """An event as the record would hold it, `n` minutes into the visit; `changes` are to its fields."""
    event = Event(
        n=n,
        session="s1",
        at_utc=(START + timedelta(minutes=n)).isoformat(),
        at_mono_ns=n * 60_000_000_000,
        by=by,
        kind=bodies.kind_of(type(told)),
        v=1,
        need=needed(told),
        body=msgspec.json.decode(msgspec.json.encode(told)),
    )
    return msgspec.structs.replace(event, **changes)


def seen(body: Body, n: int = 1, by: str = TESS) -> Happened:
    """An event with its body, as a fold sees it."""
    return Happened(event_of(body, n, by), body)


def job_opened() -> bodies.JobOpened:
    """How the job of XV-1101 begins."""
    return bodies.JobOpened(tag="XV-1101", sheet=Text(PATH.name, xv_text()), checklist=texts(), program_version="0.1.0")


def begun(run: str = "r1", step: str = "K1-close") -> bodies.MotionBegun:
    """A run of the closing stroke."""
    return bodies.MotionBegun(
        run=run,
        step=step,
        procedure="full_stroke",
        arguments={"direction": "closed"},
        test="K1 close run 1",
        commands={"command_close": 1, "command_stop": 1},
        safe_end="return",
        guards=("gap",),
        plan=PLAN,
    )


def ended(run: str = "r1", how: str = "finished") -> bodies.MotionEnded:
    """Its end."""
    return bodies.MotionEnded(run=run, how=how, reason="", safe_end="not needed")


class Told:
    """Tells a job one event after the other; the events are kept."""

    def __init__(self) -> None:
        self.events = [event_of(job_opened(), by="program")]
        self.job: Job = opened(self.events[0])
        self.tell(bodies.SessionStarted(program_version="0.1.0", resumed=False), by="program")

    @property
    def sheet(self) -> Sheet:
        """The unit's sheet."""
        return self.job.sheet

    def tell(self, body: Body, by: str = TESS, **changes: Any) -> "Told":
        """
        One more event; kept only where it is legal.

        Raises:
            EnergyError, ValueError, KeyError: as `Job.after`.
        """
        event = event_of(body, len(self.events) + 1, by, **changes)
        self.job = self.job.after(event)
        self.events.append(event)
        return self

    def cross(self, *targets: EnergyState) -> "Told":
        """Cross with all the evidence each state needs."""
        for target in targets:
            self.tell(bodies.EnergyBegun(target=target))
            while open_needs := missing(self.job.energy_log.now, self.sheet):
                fact = good(open_needs[0])
                self.tell(bodies.EnergyProved(fact=fact.fact, subject=fact.subject, details=fact.details))
            self.tell(bodies.EnergyEntered(state=target))
        return self
