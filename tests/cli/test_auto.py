"""The start of a walk by itself: unit, job and people, and who is asked where the file says nothing."""

import asyncio
from pathlib import Path

import pytest

from commission.checklist import Step
from commission.cli.answers_file import Answers, AnswersFile, FiledAnswer, SiteAct
from commission.cli.app import Started
from commission.cli.auto import PACE_S, SPEED, Watched, WatchedCrew, pace_s
from commission.cli.site import Site
from commission.content import checklists_folder
from commission.face.dialogue import Left
from commission.practice.process import start
from commission.procedures.requests import Answer, Ask
from commission.terminal.desk import Desk, PracticeUnit
from commission.visit import Visit
from commission.walk.prompts import Ask as PromptAsk
from commission.walk.prompts import BeginStep, Conclude
from tests.journeys.site import PATIENCE_S

SHEET = checklists_folder() / "units" / "xv-1101.toml"


class Nobody:
    """People who are asked nothing."""

    async def ask(self, question: Ask) -> Answer:
        """Fail the test."""
        raise AssertionError(question.text)


def desk_in(folder: Path) -> Desk:
    """A desk that starts real practice units and prepares nothing."""

    def started(sheet: Path, speed: float, start_at: str) -> PracticeUnit:
        return Started(start(sheet, speed=speed, start_at=start_at))

    async def prepare(_desk: Desk, _people: object) -> tuple[Visit, str]:
        raise AssertionError("no stroke was asked for")

    return Desk(folder, started, prepare)


@pytest.mark.parametrize(("speed", "expected_s"), [(1.0, PACE_S), (SPEED, PACE_S), (2 * SPEED, PACE_S / 2)])
def test_a_prompt_is_shown_for_about_a_second(speed: float, expected_s: float) -> None:
    """A second at the usual speed and below, less in proportion above it."""
    assert pace_s(speed) == pytest.approx(expected_s)


@pytest.mark.asyncio
async def test_it_begins_a_connected_practice_job(tmp_path: Path) -> None:
    """The unit is its own process, the job is connected to it and marked PRACTICE, and the file's person speaks."""
    desk = desk_in(tmp_path)
    async with asyncio.timeout(PATIENCE_S):
        prepared = await Watched(SHEET, 30.0)(desk, Nobody())
        assert prepared.visit is desk.visit
        assert prepared.visit.job.practice
        assert prepared.visit.clock.speed == 30.0
        assert prepared.by == "Tess Placeholder"
        assert prepared.pace_s == pytest.approx(PACE_S * SPEED / 30.0)
        await desk.close("the test is over")


@pytest.mark.asyncio
async def test_what_the_file_does_not_answer_is_left_to_whoever_watches(tmp_path: Path) -> None:
    """No answer, and an act that nobody can do at the unit, are a `Left` with a sentence and no traceback."""
    desk = desk_in(tmp_path)
    async with asyncio.timeout(PATIENCE_S):
        visit = (await Watched(SHEET, 30.0)(desk, Nobody())).visit
        step = visit.job.checklist.step("A3")
        unit = desk.practice
        assert unit is not None
        silent = WatchedCrew(filed(), Site(unit.site), tell=lambda _line: None)
        with pytest.raises(Left, match="no answer"):
            await silent.reply(visit, step, question(step))
        clumsy = WatchedCrew(
            filed(FiledAnswer(step="A3", to="conclude", say="conclude", acts=(SiteAct(act="whistle"),))),
            Site(unit.site),
            tell=lambda _line: None,
        )
        with pytest.raises(Left, match="whistle"):
            await clumsy.reply(visit, step, Conclude())
        reply = await silent.reply(visit, step, BeginStep(step.cautions))
        assert reply is not None
        assert reply.from_file
        await desk.close("the test is over")


def filed(*answers: FiledAnswer) -> Answers:
    """An answers file with these answers."""
    return Answers(AnswersFile(format=1, by="Tess Placeholder", answers=answers), "test.toml")


def question(step: Step) -> PromptAsk:
    """The first question of a step."""
    return PromptAsk(step.questions[0])
