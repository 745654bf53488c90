"""A question that a procedure asked: open until an answer is one."""

import asyncio

import pytest

from commission.procedures.requests import Ask
from commission.terminal.question import OpenQuestion
from tests.virtual_time import run_virtual

NIGHT_S = 12 * 3600.0


@pytest.mark.asyncio
async def test_it_stays_open_until_an_answer_is_one() -> None:
    """What is none raises; a second answer changes nothing."""
    question = OpenQuestion(Ask("at 25", "What does it show?", "number", "mA"))
    waiting = asyncio.get_running_loop().create_task(question.answered())
    with pytest.raises(ValueError, match=r"\w"):
        question.give("much", "Tess", 1)
    await asyncio.sleep(0)
    assert not waiting.done()
    question.give("8,02", "Tess", 2)
    question.give("9", "Tess", 3)
    answer = await waiting
    assert (answer.value, answer.by, answer.at_ns) == (8.02, "Tess", 2)


def test_nobody_is_timed_out() -> None:
    """Asked in the evening, answered in the morning."""

    async def main() -> str:
        question = OpenQuestion(Ask("at 25", "What does it show?", "number", "mA"))
        waiting = asyncio.get_running_loop().create_task(question.answered())
        await asyncio.sleep(NIGHT_S)
        assert not waiting.done()
        question.give("8,02", "Tess", 2)
        return (await waiting).text

    assert run_virtual(main()) == "8,02"
