"""
The language of a bench instrument, as far as reading one needs it (SCPI-1999 and IEEE 488.2; from memory).

Headers in any case, long or short form, with or without their default nodes; several questions in one line, separated
by semicolons; what is not understood goes to the error queue and is not answered.
"""

import re
from collections import deque
from collections.abc import Callable

NOT_A_NUMBER = 9.91e37
INFINITE = 9.9e37

_UNDEFINED = '-113,"Undefined header"'
_NO_ERROR = '0,"No error"'
_QUEUE_OVERFLOW = '-350,"Queue overflow"'
_QUEUE_LENGTH = 20


class Instrument:
    """
    One instrument that answers questions.

    Args:
        identity: Four fields separated by commas: maker, model, serial number, firmware.

        questions: What it can be asked, by header as `MEASure:CURRent[:DC]`: capitals are the short form, brackets a
            default node.
    """

    def __init__(self, identity: str, questions: dict[str, Callable[[], float]]) -> None:
        self._identity = identity
        self._questions = [(re.compile(header_pattern(header)), ask) for header, ask in questions.items()]
        self._errors: deque[str] = deque()

    def answer(self, line: str) -> str:
        """The answer to a line, without its end; empty where there is none."""
        answers = [self._one(part.strip()) for part in line.split(";") if part.strip()]
        return ";".join(answer for answer in answers if answer)

    def _one(self, message: str) -> str:
        header = message.split(" ", maxsplit=1)[0].upper()
        if header == "*IDN?":
            return self._identity
        if re.fullmatch(header_pattern("SYSTem:ERRor[:NEXT]"), header):
            return self._errors.popleft() if self._errors else _NO_ERROR
        if header in ("*CLS", "*RST"):
            self._errors.clear()
            return ""
        if header == "*OPC?":
            return "1"
        for pattern, ask in self._questions:
            if pattern.fullmatch(header):
                return number_text(ask())
        self._complain()
        return ""

    def _complain(self) -> None:
        if len(self._errors) < _QUEUE_LENGTH:
            self._errors.append(_UNDEFINED)
        else:
            self._errors[-1] = _QUEUE_OVERFLOW


def header_pattern(header: str) -> str:
    """A regular expression for a question's header in capitals, short and long forms, default nodes left out or not."""
    pattern = ""
    for node in re.findall(r"\[:?(\w+)\]|:?(\w+)", header):
        optional, needed = node
        name = optional or needed
        short = "".join(letter for letter in name if not letter.islower())
        either = f"(?:{name.upper()}|{short})"
        separator = ":" if pattern else ":?"
        pattern += f"(?:{separator}{either})?" if optional else f"{separator}{either}"
    return pattern + r"\?"


def number_text(value: float) -> str:
    """A number as IEEE 488.2 writes it with an exponent (NR3)."""
    return f"{value:+.6E}"
