"""The unattended speaker: answers from a file, people at the practice unit, and leaving where nobody can know."""

import asyncio
from pathlib import Path

import pytest

from commission.cli.answers_file import Answers, AnswersFile, FiledAnswer, SiteAct
from commission.cli.crew import Crew
from commission.cli.site import Site
from commission.content import Text
from commission.face.dialogue import Left, walk
from commission.practice.control_port import ControlPort
from commission.procedures.requests import Ask
from commission.walk.prompts import BeginStep, ConfirmMovement, pending
from commission.walk.refusal import Refusal
from tests.cli.talking import CONFIRM, talking
from tests.virtual_time import run_virtual
from tests.visiting import CHECKLIST, TESS

CONFIRMED = FiledAnswer(step="*", to="confirm", say=CONFIRM, by="Ollie Sampleton", again=True)


def crew(*answers: FiledAnswer, site: Site | None = None, told: list[str] | None = None) -> Crew:
    """A speaker with these answers."""
    filed = Answers(AnswersFile(format=1, by=TESS, answers=answers), "answers.toml")
    return Crew(filed, site, tell=([] if told is None else told).append)


def test_a_stroke_is_walked_from_answers(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Begun, confirmed and concluded; whose word it is stands beside each; the verdict is told."""
    told: list[str] = []
    once = (
        Text(
            "strokes.toml",
            CHECKLIST.replace("times = 3", "times = 1").replace('direction = "open"', 'direction = "closed"'),
        ),
    )

    async def main() -> None:
        async with talking(tmp_path, capsys, checklist=once) as talk:
            await talk.go_live()
            talk.there.opened_at_the_panel()
            await walk(talk.visit, crew(CONFIRMED, told=told), until="K1-close")
            runs = list(talk.visit.job.runs.values())[1:]
            assert [run.ended.how for run in runs if run.ended] == ["finished"]
            assert runs[0].by == "Ollie Sampleton"
            assert "Ollie Sampleton" in talk.visit.job.register.people

    run_virtual(main())
    assert any("K1-open: " in line for line in told)


def test_a_test_that_never_begins_ends_the_visit(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A stroke to where the valve stands already is no test; after three of them somebody has to look."""
    shut = (Text("strokes.toml", CHECKLIST.replace('direction = "open"', 'direction = "closed"')),)

    async def main() -> None:
        async with talking(tmp_path, capsys, checklist=shut) as talk:
            await talk.go_live()
            with pytest.raises(Left, match="no test"):
                await walk(talk.visit, crew(CONFIRMED))
            assert len(talk.visit.job.runs) == 1 + 3

    run_virtual(main())


def test_what_the_unit_refuses_is_said_as_it_was_answered(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A try at the panel: `{answered}` is what came of it, refusal or not."""

    async def main() -> None:
        async with talking(tmp_path, capsys) as talk:
            port = ControlPort(talk.there.unit.desk)
            talk.there.unit.desk.act("selector", "LOCAL")
            talk.there.unit.desk.act("esd_button", True)
            talk.there.unit.desk.unit.advance(1.0)
            tries = (SiteAct(act="local_open", tried=True),)
            refused = FiledAnswer(step="K1-open", to="refused", say="{answered}", acts=tries)
            speaker = crew(refused, site=Site(await port.open()))
            speaker.step(talk.visit, talk.visit.job.checklist.step("K1-open"))
            answer = await speaker.ask(Ask("refused", "What happens?"))
            assert answer.text == "refused: the unit refuses: tripped: reset first"
            await port.close()

    run_virtual(main())


def test_an_answer_that_is_not_taken_again_and_again_ends_the_visit() -> None:
    """Nobody is there to think of another."""
    speaker = crew()
    speaker.problem("not so")
    speaker.problem("not so")
    with pytest.raises(Left, match=r"answers\.toml does not lead on: not so"):
        speaker.problem("not so")


def test_what_is_done_at_a_unit_needs_people_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without a site desk an act or a look says so."""
    act = FiledAnswer(step="I2", to="begin", say="begin", acts=(SiteAct(act="selector", value="OFF"),))
    look = FiledAnswer(step="I2", to="begin", say="{stem}")

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False) as talk:
            step = talk.visit.job.checklist.step("I2")
            for answer in (act, look):
                with pytest.raises(Left, match="nobody is there: name the site desk"):
                    await crew(answer).reply(talk.visit, step, BeginStep(()))

    run_virtual(main())


def test_prompts_without_a_choice_need_no_answer_in_the_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Begin is said by itself, and marked as said by nobody."""

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False) as talk:
            step = talk.visit.job.checklist.step("I2")
            reply = await crew().reply(talk.visit, step, pending(talk.visit.job, step, talk.visit.clock.utc()))
            assert reply is not None
            assert (reply.text, reply.by, reply.from_file) == ("begin", TESS, True)
            assert not isinstance(pending(talk.visit.job, step, talk.visit.clock.utc()), ConfirmMovement)

    run_virtual(main())


def test_a_procedures_question_is_answered_from_the_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A number is read in the unit asked for; an answer that says nothing only does something, and waits."""
    meter = FiledAnswer(step="I2", to="meter", say="24,37 V", by="Juno Demoval")
    silent = FiledAnswer(step="I2", to="turn", say="")

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False) as talk:
            speaker = crew(meter, silent)
            speaker.step(talk.visit, talk.visit.job.checklist.step("I2"))
            answer = await speaker.ask(Ask("meter", "Meter", "number", "V"))
            assert (answer.text, answer.by) == ("24,37 V", "Juno Demoval")
            assert answer.value == pytest.approx(24.37)
            turning = asyncio.ensure_future(speaker.ask(Ask("turn", "Turn it", "text")))
            await asyncio.sleep(1)
            assert not turning.done()
            turning.cancel()
            await asyncio.gather(turning, return_exceptions=True)

    run_virtual(main())


def test_an_answer_that_is_never_taken_ends_the_visit(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Asked again at each sample, the same words would fill the record for ever; alternating ones are answers."""
    room = FiledAnswer(step="*", to="room", say="TROUBLE", again=True)
    stem = FiledAnswer(step="*", to="stem", say="12 mm", again=True)

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False) as talk:
            speaker = crew(room, stem)
            speaker.step(talk.visit, talk.visit.job.checklist.step("I2"))
            for _ in range(40):
                await speaker.ask(Ask("stem", "Stem"))
                await speaker.ask(Ask("room", "What the control room reads"))
            for _ in range(29):
                await speaker.ask(Ask("room", "What the control room reads"))
            with pytest.raises(Left, match="'TROUBLE' answers 'room' again and again"):
                await speaker.ask(Ask("room", "What the control room reads"))

    run_virtual(main())


def test_r13_a_go_needs_no_answer_and_nobody_cancels_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """On a practice unit only: the crew lets it move on, and presses no key in the countdown."""

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False) as talk:
            speaker = crew()
            speaker.step(talk.visit, talk.visit.job.checklist.step("I2"))
            assert (await speaker.ask(Ask("go", "Hands out?", "go"))).text == "go"
            cancelling = asyncio.ensure_future(speaker.ask(Ask("cancel", "Any key cancels.", "key")))
            await asyncio.sleep(5)
            assert not cancelling.done()
            cancelling.cancel()
            await asyncio.gather(cancelling, return_exceptions=True)

    run_virtual(main())


def test_what_no_file_can_know_ends_the_visit(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A refusal, a procedure's question, and a unit that does not answer, which is status 3."""

    async def main() -> None:
        async with talking(tmp_path, capsys) as talk:
            step = talk.visit.job.checklist.step("I2")
            told: list[str] = []
            crew(told=told).refused(step, Refusal("the valve is not shut", "Shut it"))
            assert told == ["I2: the valve is not shut. Shut it"]
            with pytest.raises(Left, match="may not go on in state unknown"):
                await crew().unblock(talk.visit, step)
            with pytest.raises(Left, match="nobody is there to answer"):
                await crew().ask(Ask("mark", "Which mark", "text"))
            talk.there.unit.server.deaf = True
            with pytest.raises(Left, match="does not answer") as left:
                await crew().line_needed(talk.visit)
            assert left.value.unreached
            talk.there.unit.server.deaf = False
            await crew().line_needed(talk.visit)

    run_virtual(main())


def test_where_a_step_may_not_go_on_the_file_says_what_is_done(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Requests as at the keyboard, each told; the deviation raised last by its name; one that is refused ends it."""
    found = FiledAnswer(
        step="I2",
        to="refused",
        say="",
        asks=("/deviation a sound screw; a loose one", "/accept {deviation}; Piet E.; mended"),
    )
    wrong = FiledAnswer(step="I2", to="refused", say="", asks=("/accept D7; Piet Exampler; mended",))

    async def main() -> None:
        async with talking(tmp_path, capsys) as talk:
            step, told = talk.visit.job.checklist.step("I2"), list[str]()
            speaker = crew(found, wrong, told=told)
            await speaker.unblock(talk.visit, step)
            (deviation,) = talk.visit.job.deviations.values()
            assert (deviation.raised.found, deviation.accepted_by) == ("a loose one", TESS)
            assert told == ["  /deviation a sound screw; a loose one", "  /accept D1; Piet E.; mended"]
            with pytest.raises(Left, match="'D7' is no deviation"):
                await speaker.unblock(talk.visit, step)

    run_virtual(main())


def test_a_word_that_is_said_only_where_nothing_is_seen(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Thirty seconds of the unit's time pass before it, in which a reading may settle the question."""
    done = FiledAnswer(step="I2", to="turn", say="done", unless_s=30.0)

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False) as talk:
            speaker, clock = crew(done), talk.visit.clock
            speaker.step(talk.visit, talk.visit.job.checklist.step("I2"))
            begun_ns = clock.unit_ns()
            assert (await speaker.ask(Ask("turn", "Turn it", "text"))).text == "done"
            assert clock.unit_ns() - begun_ns >= 30e9

    run_virtual(main())
