"""
What the app may do without knowing how: find jobs, begin or go on with one, start a practice unit, hold the open visit.

The program's main gives it the parts that live above the app, such as starting a practice unit as its own process.
"""

from collections.abc import Awaitable, Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

import msgspec

from commission.clock import Clock
from commission.content import ContentError, checklists_folder

if TYPE_CHECKING:  # what a visit is made of is loaded on first use, after the first paint
    from commission.face.at_unit import Hands
    from commission.sheet import Sheet
    from commission.supervise.surroundings import People
    from commission.terminal.auto import ByItself
    from commission.terminal.wish import Wishes
    from commission.visit import Visit

PRACTICE_SPEED = 5.0
"""Fast enough that a stroke of 146 s is half a minute, slow enough to be watched."""


class PracticeUnit(Protocol):
    """A practice unit that was started as a process of its own."""

    @property
    def url(self) -> str:
        """What to connect to."""
        ...

    @property
    def site(self) -> str:
        """host:port of the people beside it."""
        ...

    @property
    def hands(self) -> "Hands":
        """Whoever does things beside it, for a person who practises."""
        ...

    @property
    def meters(self) -> Mapping[str, str]:
        """Serial device of each instrument on its bench, by its label; none where this system has no such devices."""
        ...

    def end(self) -> None:
        """End the process."""
        ...


class JobFound(msgspec.Struct, frozen=True):
    """A job file on this laptop; `left` says in what state, `trouble` why it cannot be read."""

    path: Path
    tag: str = ""
    service: str = ""
    last_utc: str = ""
    practice: bool = False
    signed: bool = False
    trouble: str = ""
    left: str = ""


class Desk:
    """
    The app's surroundings.

    Args:
        folder: Where jobs are kept.

        start_practice: Starts a practice unit: sheet, speed, where the valve begins.

        prepare: Makes a job on a practice unit ready for one closing stroke, and says who is at the keyboard.

        clock: Makes the clocks of a new session.

        by_itself: Begins a job that is walked by itself as soon as the app is open; None where nothing is.

        practice_speed: Unit time a second of wire time, at a practice unit that somebody asks for.

        wishes: What practice units can have and are to have; None where nobody chooses.
    """

    def __init__(
        self,
        folder: Path,
        start_practice: Callable[[Path, float, str], PracticeUnit],
        prepare: "Callable[[Desk, People], Awaitable[tuple[Visit, str]]]",
        clock: Callable[[], Clock] = Clock,
        by_itself: "Callable[[Desk, People], Awaitable[ByItself]] | None" = None,
        practice_speed: float = PRACTICE_SPEED,
        wishes: "Wishes | None" = None,
    ) -> None:
        self.folder = folder
        self.visit: Visit | None = None
        self.practice: PracticeUnit | None = None
        self._practised: Path | None = None
        self._unused = False
        self._start_practice = start_practice
        self._prepare = prepare
        self.by_itself = by_itself
        self.practice_speed = practice_speed
        self.wishes = wishes
        self._clock = clock

    @property
    def clock(self) -> Clock:
        """The open visit's clocks, or fresh ones."""
        return self._clock() if self.visit is None else self.visit.clock

    @property
    def in_motion(self) -> bool:
        """Whether a motion is open."""
        return self.visit is not None and self.visit.in_motion

    @property
    def hands(self) -> "Hands | None":
        """
        Hands beside the unit, for a person who practises; None wherever the unit could be a real one.

        They exist only for the job that a practice unit was started for here, and while its line, where there is one,
        has proved to lead to a practice unit (safety rule R15).
        """
        visit, practice = self.visit, self.practice
        if visit is None or practice is None or visit.path != self._practised:
            return None
        if visit.link is not None and visit.link.facts.practice is None:
            return None
        return practice.hands

    @property
    def practice_meters(self) -> Mapping[str, str]:
        """Instruments on the bench of the practice unit, for the job that it was started for."""
        return {} if self.practice is None or self.hands is None else self.practice.meters

    async def after_a_sample(self) -> None:
        """
        Wait, where a motion is open, until a sample has just come: what is done then is over before the next is due.

        Drawing takes half the time from one sample to the next; begun at any other moment, it would make one late.
        """
        if self.visit is not None and self.visit.supervisor is not None:
            await self.visit.supervisor.sampled()

    def jobs(self) -> tuple[JobFound, ...]:
        """The jobs in the folder, the latest first."""
        from commission.terminal import job_files  # noqa: PLC0415  # all that a visit is made of; after the first paint

        found = [job_files.look(path) for path in sorted(self.folder.glob("*.job"))]
        return tuple(sorted(found, key=lambda job: job.last_utc, reverse=True))

    def sheets(self) -> tuple[Path, ...]:
        """Sheets that a job can be started from: in the folder, then those that came with the program."""
        packed = checklists_folder() / "units"
        return (*sorted(self.folder.glob("*.toml")), *sorted(packed.glob("*.toml")))

    def begin(self, sheet: Path, people: "People", by: str, checklist: Path | None = None) -> "Visit":
        """
        Start a job on a sheet; on the practice unit where one was just started, and on no other.

        Args:
            sheet: The unit's sheet.

            people: Who is asked.

            by: Who starts it.

            checklist: What is walked; the packed one where None.

        Raises:
            ContentError, RecordError: as their names say.
        """
        from commission.terminal import job_files  # noqa: PLC0415  # as above

        if not self._unused:
            self._end_practice()
        self._unused = False
        try:
            self.visit = job_files.begin(self.folder, sheet, checklist, self._clock(), people, by)
        except Exception:
            self._end_practice()
            raise
        self._practised = None if self.practice is None else self.visit.path
        return self.visit

    def resume(self, path: Path, people: "People") -> "Visit":
        """
        Go on with a job; its energy state is unknown until it is proved again.

        A practice unit that was started for another job ends, so that no job is ever led to it by mistake.

        Raises:
            RecordError, JobError, VisitError: as their names say.
        """
        from commission.visit import Visit  # noqa: PLC0415  # as above

        if path != self._practised:
            self._end_practice()
        self.visit = Visit.resume(path, self._clock(), people)
        return self.visit

    def again(self, earlier: Path, people: "People", checklist: str) -> "Visit":
        """
        Begin a re-test from an earlier job, in a new job beside it.

        Raises:
            ContentError, RecordError, JobError, VisitError: as their names say.
        """
        from commission.terminal import job_files  # noqa: PLC0415  # as above

        self._end_practice()
        self.visit = job_files.again(earlier, checklist, self._clock(), people, "program")
        return self.visit

    def practise(self, sheet: Path, speed: float, start: str = "closed") -> PracticeUnit:
        """Start a practice unit; the one before is ended."""
        self._end_practice()
        self.practice = self._start_practice(sheet, speed, start)
        self._unused = True
        return self.practice

    def practise_on(self, visit: "Visit") -> PracticeUnit:
        """
        Start a practice unit for a practice job that is gone on with.

        Raises:
            ValueError: the job is no practice job, or no sheet of this tag is here.
        """
        tag = visit.job.tag
        sheet = next((path for path in self.sheets() if _tag_of(path) == tag), None)
        if not visit.job.practice or sheet is None:
            raise ValueError(f"no practice unit can be started for {tag}")
        practice = self.practise(sheet, self.practice_speed)
        self._practised, self._unused = visit.path, False
        return practice

    async def prepare_stroke(self, people: "People") -> "tuple[Visit, str]":
        """A job on a practice unit, ready for one closing stroke, and who is at the keyboard."""
        return await self._prepare(self, people)

    def stop(self, by: str, reason: str) -> bool:
        """Stop the open motion; whether there was one."""
        return self.visit is not None and self.visit.stop(by, reason)

    def was_away(self, lost_s: float) -> None:
        """The program was not awake: a stop, and the energy state is unknown."""
        if self.visit is not None:
            self.visit.was_away(lost_s)

    async def leave(self, reason: str) -> None:
        """Close the open visit safely; the desk stays."""
        visit, self.visit = self.visit, None
        if visit is not None:
            await visit.close(reason)

    async def close(self, reason: str) -> None:
        """Close everything: the visit safely, then the practice unit."""
        await self.leave(reason)
        self._end_practice()

    def _end_practice(self) -> None:
        practice, self.practice = self.practice, None
        self._practised, self._unused = None, False
        if practice is not None:
            practice.end()


def _tag_of(path: Path) -> str:
    try:
        return sheet_of(path).identity.tag
    except ContentError:
        return ""


def sheet_of(path: Path) -> "Sheet":
    """
    The sheet in a file.

    Raises:
        ContentError: with every mistake.
    """
    from commission.sheet import load_sheet  # noqa: PLC0415  # after the first paint

    return load_sheet(path)[0]
