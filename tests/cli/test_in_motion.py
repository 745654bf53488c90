"""The keyboard while the valve moves: answering a procedure, and stopping all the same."""

import asyncio
from pathlib import Path

import pytest

from commission.cli import in_motion
from commission.procedures.requests import Ask
from tests.cli.talking import Talk, talking
from tests.virtual_time import run_virtual
from tests.visiting import TESS


async def stroke(talk: Talk) -> "asyncio.Task[object]":
    """An opening stroke that is shown."""
    await talk.go_live()
    running = asyncio.get_running_loop().create_task(talk.there.run("K1-open"))
    talk.face(in_motion.show(talk.visit, running, talk.lines, talk.typist._questions, TESS))
    await talk.expect("moving")
    return running


def test_a_question_of_the_procedure_is_answered_while_it_moves(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A line with words goes to the question, a wrong one is asked for again, and the motion goes on."""

    async def main() -> None:
        async with talking(tmp_path, capsys) as talk:
            talk.typist._by = TESS
            running = await stroke(talk)
            asked = talk.face(talk.typist.ask(Ask("angle", "Angle at the stem", "number", "deg")))
            await talk.expect("Enter alone still stops")
            talk.type("about half")
            await talk.expect("Not so")
            await talk.expect("Enter alone still stops")
            talk.type("45")
            answer = await asked
            assert (answer.text, answer.value, answer.by) == ("45", 45.0, TESS)
            assert not running.done()
            talk.type("")
            await talk.expect("Ended    stopped")
            await running

    run_virtual(main())


def test_enter_alone_stops_even_where_something_is_asked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The stop key has one meaning."""

    async def main() -> None:
        async with talking(tmp_path, capsys) as talk:
            running = await stroke(talk)
            talk.face(talk.typist.ask(Ask("mark", "Which mark does the stem show", "text")))
            await talk.expect("Enter alone still stops")
            talk.type("")
            await talk.expect("STOP asked for")
            await running

    run_virtual(main())


def test_what_is_typed_in_the_last_second_answers_no_question(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Lines left over from stopping in a hurry do not answer what is asked after the motion."""

    async def main() -> None:
        async with talking(tmp_path, capsys) as talk:
            running = await stroke(talk)
            talk.type("", "", "", "")
            await talk.expect("Ended    stopped")
            await running
            assert not talk.lines.any_waiting

    run_virtual(main())


def test_r_means_nothing_in_a_stroke_to_an_end(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """There is no way back to ask for: a typed line stops, as any other."""

    async def main() -> None:
        async with talking(tmp_path, capsys) as talk:
            running = await stroke(talk)
            talk.type("r")
            await talk.expect("STOP asked for")
            await running

    run_virtual(main())
