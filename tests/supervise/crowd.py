"""
People beside a practice unit without a wire: each question of a procedure is answered by what they do and say.

    site = crowd(SHEET, start=End.OPEN, said={"cause": Does(("control_room_esd", True)), "stem": Does(say="closed")})

What is done without a word leaves the question open, as hands that are busy do.
"""

import asyncio
from collections.abc import Callable, Coroutine, Mapping
from typing import Any, TypeVar

import msgspec

from commission.practice.condition import HEALTHY, Condition
from commission.procedures.requests import Answer, Ask, Procedure
from commission.sheet import End, Sheet
from commission.supervise.order import Ended
from tests.supervise.direct import TESS, DirectSite, directly

R = TypeVar("R")
Deed = tuple[str, Any] | tuple[str, Any, str]


class Does(msgspec.Struct, frozen=True):
    """
    What people do at a question, and what they say then; nothing where they say nothing.

    Args:
        deeds: Acts at the site desk, in order; `wait` lets so many seconds pass.

        say: The answer, or what makes it once the deeds are done.
    """

    deeds: tuple[Deed, ...] = ()
    say: "str | Callable[[DirectSite], str]" = ""


class Crowd(DirectSite):
    """A unit, its supervisor, and people who answer."""

    def __init__(self, sheet: Sheet, condition: Condition, start: End, seed: int) -> None:
        super().__init__(sheet, condition, start, seed)
        self.said: Mapping[str, Does] = {}
        self.asked: list[Ask] = []

    async def ask(self, question: Ask) -> Answer:
        """Do, then say."""
        self.asked.append(question)
        does = self.said[question.id]
        for name, value, *which in does.deeds:
            if name == "wait":
                await asyncio.sleep(value)
            else:
                self.desk.act(name, value, which=which[0] if which else "")
        said = does.say(self) if callable(does.say) else does.say
        if not said:
            await asyncio.Event().wait()
        number = float(said) if question.kind == "number" else None
        return Answer(question.id, said, TESS, self.clock.unit_ns(), number)


def crowded(
    sheet: Sheet,
    procedure: Procedure[R],
    said: Mapping[str, Does],
    *,
    condition: Condition = HEALTHY,
    start: End = End.OPEN,
    seed: int = 0,
    prepare: Callable[[Crowd], None] = lambda _site: None,
    name: str = "fail_safe",
) -> "tuple[Ended[R], Crowd]":
    """One run with people who answer so."""

    async def main() -> tuple[Ended[R], Crowd]:
        site = Crowd(sheet, condition, start, seed)
        site.unit.silent = lambda: not site.unit.unit.side.control_on
        site.said = said
        prepare(site)
        return await site.run(procedure, name), site

    held: Coroutine[Any, Any, tuple[Ended[R], Crowd]] = main()
    return directly(held)
