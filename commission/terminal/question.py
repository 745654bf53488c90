"""What a procedure asks while its test runs: asked on the running-test screen, answered there, never waited for."""

import asyncio
from collections.abc import Callable

from commission.face.procedure_answer import answer_of
from commission.procedures.requests import Answer, Ask


class OpenQuestion:
    """
    One question that is open.

    Args:
        asked: What the procedure asks.
    """

    def __init__(self, asked: Ask) -> None:
        self.asked = asked
        self._answer: asyncio.Future[Answer] = asyncio.get_running_loop().create_future()

    def give(self, text: str, by: str, at_ns: int) -> None:
        """
        Answer it.

        Raises:
            ValueError: it is no answer; the same is asked still.
        """
        answer = answer_of(self.asked, text, by, at_ns)
        if not self._answer.done():
            self._answer.set_result(answer)

    async def answered(self) -> Answer:
        """The answer; there is no time-out on a person."""
        return await self._answer


class AtTheKeys:
    """
    Whoever is at the keys, asked one question at a time.

    Args:
        ring: Draws attention to a question.

    Attributes:
        question: What is asked now.
    """

    def __init__(self, ring: Callable[[], None]) -> None:
        self._ring = ring
        self.question: OpenQuestion | None = None

    async def ask(self, question: Ask) -> Answer:
        """The answer by keys; a test that ends takes its question away."""
        self.question = opened = OpenQuestion(question)
        self._ring()
        try:
            return await opened.answered()
        finally:
            if self.question is opened:
                self.question = None
