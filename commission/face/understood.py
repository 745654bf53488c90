"""
A typed number as it is understood, and whether it is so far from what is expected that it is asked again.

The technician sees `12,5` become `12.5 bar` before it is taken. An absurd number (a factor of three outside its limits
or its expected value: common practice, no source) is more often a slip of a gloved finger than a finding.
"""

from decimal import Decimal

from commission.checklist import Question
from commission.quantity import NumberError, UnitError, parse
from commission.walk.expected import Expected
from commission.walk.prompts import Ask, Evidence, Prompt

ABSURD_FACTOR = 3.0
"""How far outside a number is asked again."""

_READING_WORDS = ("transmitter", "gauge", "test pressure", "test")


def understood(prompt: Prompt, text: str) -> str:
    """
    How a typed number is understood, as `12.5 bar`; empty where no number is asked, or none is typed yet.

    Args:
        prompt: What was asked.

        text: As typed so far.
    """
    unit, words = _unit_asked(prompt), _without_words(prompt, text)
    if unit is None or not words:
        return ""
    try:
        value = parse(words, unit or "1").value
    except (NumberError, UnitError):
        return ""
    return f"{value:.6g} {unit}".rstrip()


def query(prompt: Prompt, text: str) -> str:
    """
    Why a number should be looked at again before it is taken; empty where it is near enough, or is no number.

    Args:
        prompt: What was asked.

        text: As typed.
    """
    if not isinstance(prompt, Ask) or prompt.question.kind not in ("number", "count"):
        return ""
    question = prompt.question
    try:
        value = parse(text, question.unit or "1").value
    except (NumberError, UnitError):
        return ""
    low, high = _bounds(question, prompt.expected)
    if not _far_outside(value, low, high):
        return ""
    read = understood(prompt, text)
    about = "far from what is expected" if question.stops else f"expected {_about(question, prompt.expected)}"
    return f"{read}? {about}: Enter again takes it, or type anew"


def _unit_asked(prompt: Prompt) -> str | None:
    if isinstance(prompt, Ask) and prompt.question.kind in ("number", "count"):
        return prompt.question.unit
    if isinstance(prompt, Evidence) and prompt.need.ask == "reading":
        return "bar"
    return None


def _without_words(prompt: Prompt, text: str) -> str:
    """A reading may say what it was read on."""
    words = " ".join(text.split())
    if isinstance(prompt, Evidence):
        for word in _READING_WORDS:
            words = words.replace(word, " ")
    return words.strip()


def _bounds(question: Question, expected: Expected | None) -> tuple[float | None, float | None]:
    """What the number should lie between; None where it is open."""
    if question.least or question.most:
        return (float(question.least) if question.least else None, float(question.most) if question.most else None)
    if expected is None or expected.number is None:
        return None, None
    room = abs(expected.number) * Decimal(question.within_pct or "0") / 100
    return float(expected.number - room), float(expected.number + room)


def _far_outside(value: float, low: float | None, high: float | None) -> bool:
    """Beyond the factor where a bound is a size; beyond so many widths where it is zero or below."""
    width = max((abs(bound) for bound in (low, high) if bound is not None), default=0.0)
    if high is not None and width:
        most = high * ABSURD_FACTOR if high > 0 else high + ABSURD_FACTOR * width
        if value > most:
            return True
    if low is not None and width:
        least = low / ABSURD_FACTOR if low > 0 else low - ABSURD_FACTOR * width
        return value < least
    return False


def _about(question: Question, expected: Expected | None) -> str:
    tail = f" {question.unit}" if question.unit else ""
    if question.least and question.most:
        return f"{question.least} to {question.most}{tail}"
    if question.least or question.most:
        return f"at least {question.least}{tail}" if question.least else f"at most {question.most}{tail}"
    return f"about {'' if expected is None else expected.text}{tail}"
