"""The walk as a conversation: what is recorded as whose word, what is asked again, and what is said when."""

import asyncio
from pathlib import Path

import pytest

from commission.checklist import Step
from commission.content import Text
from commission.face.dialogue import Left, Reply, walk
from commission.job.bodies import BitsChanged, StepBegun
from commission.procedures.requests import Answer, Ask
from commission.visit import Visit
from commission.walk.prompts import BeginStep, Conclude, Prompt
from commission.walk.refusal import Refusal
from tests.cli.talking import CONFIRM, Talk, talking
from tests.virtual_time import run_virtual
from tests.visiting import CHECKLIST, OLLIE, TESS


class Speaker:
    """Says what it is told to, in order, and notes what it was shown."""

    def __init__(self, *replies: Reply) -> None:
        self.replies = list(replies)
        self.shown: list[str] = []
        self.problems: list[str] = []

    def step(self, _visit: Visit, step: Step) -> None:
        """A step is shown."""
        self.shown.append(step.id)

    def refused(self, step: Step, refusal: Refusal) -> None:
        """A refusal is shown."""
        self.problems.append(f"{step.id}: {refusal}")

    def problem(self, sentence: str) -> None:
        """A problem is shown."""
        self.problems.append(sentence)

    def concluded(self, _visit: Visit, step: Step) -> None:
        """A verdict is shown."""
        self.shown.append(f"{step.id} concluded")

    async def reply(self, _visit: Visit, _step: Step, prompt: Prompt) -> Reply | None:
        """The next reply; the words of a prompt without a choice by itself."""
        match prompt:
            case BeginStep():
                return Reply("begin", TESS)
            case Conclude():
                return Reply("conclude", TESS)
        if not self.replies:
            raise Left("nothing more to say")
        return self.replies.pop(0)

    async def unblock(self, _visit: Visit, step: Step) -> None:
        """Nothing can be done."""
        raise Left(f"{step.id} is refused")

    async def line_needed(self, _visit: Visit) -> None:
        """Nobody connects."""
        raise Left("no line", unreached=True)

    async def moving(self, _visit: Visit, running: "asyncio.Task[object]") -> None:
        """Waits."""
        await asyncio.wait({running})

    async def ask(self, question: Ask) -> Answer:
        """Nobody answers."""
        raise Left(question.text)


async def live(talk: Talk) -> None:
    """In live, the valve open, so that a closing stroke is due."""
    await talk.go_live()
    talk.there.opened_at_the_panel()


def strokes() -> tuple[Text, ...]:
    """The checklist with one closing stroke a step."""
    once = CHECKLIST.replace("times = 3", "times = 1")
    return (Text("strokes.toml", once.replace('direction = "open"', 'direction = "closed"')),)


def test_a_run_is_the_word_of_whoever_confirmed_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Ollie confirms, Tess concludes: the motion is Ollie's, and Ollie is known from then on."""

    async def main() -> None:
        async with talking(tmp_path, capsys, checklist=strokes()) as talk:
            await live(talk)
            speaker = Speaker(Reply(CONFIRM, "Juno Demoval"))
            await walk(talk.visit, speaker, until="K1-close")
            run = list(talk.visit.job.runs.values())[-1]
            assert run.by == "Juno Demoval"
            assert "Juno Demoval" in talk.visit.job.register.people
            assert speaker.shown == ["K1-open", "K1-open concluded"]
            assert speaker.problems == []

    run_virtual(main())


def test_what_is_not_taken_is_said_and_asked_again(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A wrong count records no confirmation and starts nothing."""

    async def main() -> None:
        async with talking(tmp_path, capsys, checklist=strokes()) as talk:
            await live(talk)
            speaker = Speaker(Reply("9 1101 Mara Mockford", OLLIE))
            with pytest.raises(Left, match="nothing more to say"):
                await walk(talk.visit, speaker)
            assert "the count differs" in speaker.problems[0]
            assert len(talk.visit.job.runs) == 1
            assert not talk.visit.in_motion

    run_virtual(main())


def test_cautions_of_a_step_begun_elsewhere_are_shown_first(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A step that a request or an earlier session began is shown before its first question, once."""

    async def main() -> None:
        async with talking(tmp_path, capsys, checklist=strokes()) as talk:
            await live(talk)
            step = talk.visit.job.checklist.step("K1-open")
            talk.visit.record(StepBegun(step=step.id, cautions=step.cautions), TESS)
            speaker = Speaker(Reply("9 1101 Mara Mockford", TESS), Reply("8 1101 Mara Mockford", TESS))
            with pytest.raises(Left):
                await walk(talk.visit, speaker)
            assert speaker.shown == ["K1-open"]
            assert len(speaker.problems) == 2

    run_virtual(main())


def test_a_refused_step_asks_for_what_is_missing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Only contact is missing: the line is asked for; something else: somebody has to do something about it."""

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False, checklist=strokes()) as talk:
            speaker = Speaker()
            with pytest.raises(Left) as left:
                await walk(talk.visit, speaker)
            assert left.value.unreached
            assert speaker.problems

    run_virtual(main())


def test_it_ends_before_the_step_that_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing of that step is begun."""

    async def main() -> None:
        async with talking(tmp_path, capsys, checklist=strokes()) as talk:
            await live(talk)
            await walk(talk.visit, Speaker(), until="K1-open")
            assert "K1-open" not in talk.visit.job.steps

    run_virtual(main())


def test_while_the_motor_rests_the_walk_does_something_else(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """All starts of the window are used: a step that moves nothing is walked first, then the wait is said."""

    async def main() -> None:
        text = strokes()[0].text.replace(
            'phases = [{ id = "I"', 'phases = [{ id = "N", name = "protections" }, { id = "I"'
        )
        read = '[[steps]]\nid = "N5"\ntitle = "Read the lamp"\nstate = "live"\ndo = "Read."\ncautions = ["pinch"]\n'
        asked = f'{read}questions = [{{ id = "lamp", ask = "The lamp says" }}]\n'
        async with talking(tmp_path, capsys, checklist=(Text("strokes.toml", text + asked),)) as talk:
            await live(talk)
            now_ns = talk.visit.clock.unit_ns()
            for number in range(6):
                at_ns = now_ns - (6 - number) * 60_000_000_000
                for to, later_ns in ((1, 0), (0, 20_000_000_000)):
                    span = {"after_ns": at_ns + later_ns, "by_ns": at_ns + later_ns + 1}
                    talk.visit.record(BitsChanged(run="", changes={"motor_running": (1 - to, to)}, **span), "unit")
            speaker = Speaker(Reply("auto", TESS))
            with pytest.raises(Left, match="K1-open is refused"):
                await walk(talk.visit, speaker)
            assert speaker.shown == ["N5", "N5 concluded"]
            assert "could not be brought back" in speaker.problems[-1]

    run_virtual(main())
