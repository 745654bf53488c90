"""`commission practice --auto`: a practice unit, a job on it, and the people who walk it while somebody watches."""

import asyncio
from pathlib import Path

from commission.checklist import Step
from commission.cli.answers_file import load_answers
from commission.cli.crew import Crew
from commission.cli.output import Ending
from commission.cli.site import Site
from commission.content import ContentError, checklists_folder
from commission.face.dialogue import Left, Reply
from commission.supervise.surroundings import People
from commission.terminal.auto import ByItself
from commission.terminal.desk import Desk
from commission.visit import Visit
from commission.walk.prompts import Prompt

SPEED = 20.0
"""Unit time a second of wire time, where nobody asks for another: a stroke of 146 s is watched for 7 s."""

PACE_S = 1.0
"""Seconds for which a prompt is shown at that speed; less at a higher one."""


class WatchedCrew(Crew):
    """The people of an answers file; what they cannot do or say is left to whoever watches."""

    async def reply(self, visit: Visit, step: Step, prompt: Prompt) -> Reply | None:
        """
        The file's answer, after what it does at the unit was done.

        Raises:
            Left: the file has none, or nobody could do it at the unit.
        """
        try:
            return await super().reply(visit, step, prompt)
        except ContentError as error:
            raise Left(str(error.problems[0])) from error
        except (Ending, LookupError) as error:
            raise Left(str(error)) from error


class Watched:
    """
    What the app walks by itself.

    Args:
        sheet: The practice unit's sheet.

        speed: Unit time a second of wire time; None for the usual.

        start_at: Where the valve begins.

        answers: The answers file; the unit's own where None.

        checklist: The checklist; the packed one where None.
    """

    def __init__(
        self,
        sheet: Path,
        speed: float | None = None,
        start_at: str = "closed",
        answers: Path | None = None,
        checklist: Path | None = None,
    ) -> None:
        self._sheet = sheet
        self._speed = SPEED if speed is None else speed
        self._start_at = start_at
        self._answers = answers or checklists_folder() / "practice" / f"{sheet.stem}.toml"
        self._checklist = checklist

    async def __call__(self, desk: Desk, people: People) -> ByItself:
        """
        Start the unit as its own process, begin a job on it and connect.

        Raises:
            ContentError, RecordError, LinkError, NotStarted: as their names say.
        """
        answers, _ = load_answers(self._answers)
        unit = await asyncio.to_thread(desk.practise, self._sheet, self._speed, self._start_at)
        by = answers.filed.by
        visit = desk.begin(self._sheet, people, by, self._checklist)
        await visit.connect(unit.url, other_master="none: a practice unit", agreed_by="nobody: practice", by="program")
        return ByItself(visit, by, WatchedCrew(answers, Site(unit.site), tell=_nobody), pace_s(self._speed))


def pace_s(speed: float) -> float:
    """Seconds for which a prompt is shown, at a unit's speed."""
    return PACE_S * min(1.0, SPEED / speed)


def _nobody(_line: str) -> None:
    """Everything is on the screen already."""
