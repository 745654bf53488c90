"""
An answers file: what people say and do at each prompt of a visit, for practice units only (safety rule R15).

    format = 1
    by = "Tess Placeholder"            who says it, unless an answer names somebody

    [[answers]]
    step = "E5"
    to = "locked motor"                a question's id; or a fact, with its subject; or begin, cross, enter, confirm
    say = "lock 11"                    {gauges.PG-1} is replaced by what is read at the unit
    by = "Juno Demoval"
    acts = [{ act = "motor_isolator", value = false }]     done at the unit first; with in_s = 20, so much later
    acts = [{ act = "test_pump_bar", value = "{asked}" }]  the number that a procedure asks for
    again = true                       good for every time it is asked, not only the next
    asks = ["/cross locked"]           requests as at the keyboard, after the acts, before the answer
    unless_s = 30                      said to a procedure only where nothing else settles its question in so long

What is asked only where something is found is answered in the same file, and stays unused otherwise; `to = "* then"` is
for every question whose id ends so; `to = "refused"` says what is done where the step may not go on. An act that the
unit may rightly refuse has `tried = true`; `{answered}` then says what came of the last such act.
"""

from pathlib import Path
from typing import Any, Literal

import msgspec

from commission.content import ContentError, Problem, Text, load, read_text


class SiteAct(msgspec.Struct, frozen=True, kw_only=True):
    """Something done beside the practice unit before the answer is given."""

    act: str
    value: bool | int | float | str | None = None
    which: str = ""
    rate_bar_s: float = 0.0
    tried: bool = False
    seconds: float = 0.0
    in_s: float = 0.0


class FiledAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """One answer of the file."""

    step: str
    to: str
    say: str
    by: str = ""
    acts: tuple[SiteAct, ...] = ()
    asks: tuple[str, ...] = ()
    again: bool = False
    unless_s: float = 0.0

    def is_for(self, step: str, to: str) -> bool:
        """Whether it answers this prompt of this step."""
        named = to.endswith(self.to[1:]) if self.to.startswith("*") else self.to == to
        return named and self.step in (step, "*")


class AnswersFile(msgspec.Struct, frozen=True, kw_only=True):
    """A whole file of answers."""

    format: Literal[1]
    by: str
    answers: tuple[FiledAnswer, ...]


class Answers:
    """
    Hands out the answers of a file, each once unless it says otherwise, in the order of the file.

    Args:
        filed: The file.

        name: Its name, for messages.
    """

    def __init__(self, filed: AnswersFile, name: str) -> None:
        self.filed = filed
        self.name = name
        self._used: set[int] = set()

    def has(self, step: str, to: str) -> bool:
        """Whether the file still answers this prompt."""
        return any(
            answer.is_for(step, to) and (answer.again or number not in self._used)
            for number, answer in enumerate(self.filed.answers)
        )

    def take(self, step: str, to: str) -> FiledAnswer:
        """
        The next answer to a prompt.

        Raises:
            ContentError: the file holds none (any more).
        """
        fallback: FiledAnswer | None = None
        for number, answer in enumerate(self.filed.answers):
            if not answer.is_for(step, to):
                continue
            if answer.again:
                fallback = fallback or answer
            elif number not in self._used:
                self._used.add(number)
                return answer
        if fallback is not None:
            return fallback
        raise ContentError([Problem(self.name, f"step {step!r}", "", "no answer (any more)", f"an answer to {to!r}")])


def load_answers(path: Path) -> tuple[Answers, Text]:
    """
    The answers in a file.

    Raises:
        ContentError: with every mistake.
    """
    source = read_text(path)
    return Answers(load(AnswersFile, source), source.name), source


def with_readings(text: str, read: dict[str, Any]) -> str:
    """
    The text with each `{look.name}` or `{look}` replaced by what was read at the unit, a yes or no as that word.

    Raises:
        KeyError: the unit shows nothing of that name.
    """
    said = text
    while "{" in said:
        before, _, rest = said.partition("{")
        name, _, after = rest.partition("}")
        value: Any = read
        for part in name.split("."):
            value = value[part]
        words = ("yes" if value else "no") if isinstance(value, bool) else value
        said = f"{before}{words}{after}"
    return said
