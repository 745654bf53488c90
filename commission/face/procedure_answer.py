"""What is typed at a procedure's own question, as the answer that it is given; one reading for both faces."""

from commission.procedures.requests import Answer, Ask
from commission.quantity import NumberError, UnitError, parse

_YES, _NO = ("y", "yes", "done", "ok"), ("n", "no")
MOVE_KEY = "m"
"""Lets a valve move on (safety rule R13); not G, which is the gas alarm in the app."""


def answer_of(question: Ask, text: str, by: str, at_ns: int) -> Answer:
    """
    The answer that a typed line is.

    Args:
        question: What the procedure asks.

        text: As typed.

        by: Whose word it is.

        at_ns: Unit time of the answer.

    Raises:
        ValueError: it is none, with what was expected; the same is asked again.
    """
    said = text.strip()
    match question.kind:
        case "number":
            return Answer(question.id, said, by, at_ns, _number(question, said))
        case "yes":
            return Answer(question.id, _yes(said), by, at_ns)
        case "go":
            return Answer(question.id, _go(said), by, at_ns)
        case "key":
            return Answer(question.id, said or "a key", by, at_ns)
    if not said:
        raise ValueError("nothing was typed")
    return Answer(question.id, said, by, at_ns)


def number_understood(question: Ask, text: str) -> str:
    """How a number typed so far is taken, as `12.5 mA`; empty where it is none yet, or none is asked for."""
    if question.kind != "number":
        return ""
    try:
        return f"{_number(question, text):.6g} {question.unit}".rstrip()
    except ValueError:
        return ""


def how_to_answer(question: Ask) -> str:
    """What to type."""
    if question.kind == "number":
        return f"a number{f' in {question.unit}' if question.unit else ''}, as 12.5 or 12,5"
    return _HOW.get(question.kind, "what you see or read")


_HOW = {
    "yes": "Y for yes, N for no",
    "go": f"{MOVE_KEY.upper()} lets it move on, after 3 s; the stop key stops",
    "key": "any key",
}


def _number(question: Ask, text: str) -> float:
    try:
        return parse(text, question.unit or "1").value
    except (NumberError, UnitError) as error:
        raise ValueError(str(error)) from error


def _go(text: str) -> str:
    if text.lower() in (MOVE_KEY, "go"):
        return "go"
    raise ValueError(f"{text!r} leaves it where it is; {how_to_answer(Ask('', '', 'go'))}")


def _yes(text: str) -> str:
    word = text.lower()
    if word in _YES:
        return "yes"
    if word in _NO:
        return "no"
    raise ValueError(f"{text!r}: {how_to_answer(Ask('', '', 'yes'))}")
