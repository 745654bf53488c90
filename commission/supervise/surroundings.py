"""What the supervisor needs around it, as protocols: the unit, the record, and people."""

from typing import Protocol

from commission.clock import Clock
from commission.job.bodies import Body
from commission.procedures.requests import Answer, Ask
from commission.record.writer import Pending
from commission.sample import ReadPlan, SampleOrSilence, Written
from commission.sheet import Sheet


class SampleSource(Protocol):
    """Polls one plan."""

    async def next(self) -> SampleOrSilence:
        """The next sample, or the silence where it should be; none is skipped."""
        ...


class Unit(Protocol):
    """The unit at the end of the wire."""

    @property
    def sheet(self) -> Sheet:
        """What the unit is."""
        ...

    @property
    def clock(self) -> Clock:
        """The session's clocks."""
        ...

    async def plan(self, roles: tuple[str, ...]) -> ReadPlan:
        """
        The fastest plan that reads these roles, tried once.

        Raises:
            LinkError: a point cannot be read; the message says which.
        """
        ...

    async def plan_around(self, roles: tuple[str, ...]) -> ReadPlan:
        """
        A plan that reads these roles and the addresses beside them, as far as the unit answers there.

        Raises:
            LinkError: none of them can be read.
        """
        ...

    def watch(self, plan: ReadPlan) -> SampleSource:
        """Start polling a plan as fast as the wire allows."""
        ...

    async def command(self, role: str, value: int) -> Written:
        """
        Give a command, once; the write guard has its say.

        Raises:
            LinkError: it was refused before anything was sent.
        """
        ...

    async def make_safe(self, role: str, value: int) -> Written:
        """
        Give a command that makes safe, ahead of everything.

        Raises:
            LinkError: it was refused before anything was sent, or the line is down.
        """
        ...


class Ledger(Protocol):
    """The record of the job."""

    def record(self, body: Body, by: str = "program") -> Pending:
        """
        Try the event on the job and append it.

        Raises:
            ValueError, EnergyError: it is not legal now; nothing was written.
        """
        ...

    def store_chunk(self, data: bytes) -> str:
        """Keep a chunk of samples; its digest. Durable no later than the next event."""
        ...


class People(Protocol):
    """Whoever can answer a question while guards go on."""

    async def ask(self, question: Ask) -> Answer:
        """The answer; there is no time-out on a person."""
        ...
