"""
The verdict on one answer: against its limits, against what is expected, or as a choice.

Limits are decimal text and are judged in decimals, on the value in the question's unit. An answer read off by a person
carries no computed uncertainty, so its limits are plain; figures from samples are judged in `analysis.decision`.
"""

from decimal import Decimal

import msgspec

from commission.checklist import Question, Step
from commission.figure import Verdict
from commission.walk.expected import Expected


class Judged(msgspec.Struct, frozen=True):
    """A verdict, or None where nothing is judged; what was required and found, in words for a deviation."""

    verdict: Verdict | None
    required: str = ""
    found: str = ""


def judge(step: Step, question: Question, text: str, value: float | None, expected: Expected | None) -> Judged:
    """
    The verdict on an answer.

    Args:
        step: Its step.

        question: What was asked.

        text: The answer as understood.

        value: As a number in the question's unit, where it is one.

        expected: What it should be, if anything.
    """
    if question.effect in ("how caused", "lowered limit"):
        return Judged(_caused(question, text))
    if question.kind == "choice":
        good = text == question.choices[0]
        return _judged(good, question.choices[0], text, step, question)
    if question.effect == "stem mark":
        wanted = {"open": ["closed", "open"], "closed": ["open", "closed"]}.get(question.about, [])
        seen = [word for word in text.lower().replace(",", " ").split() if word in ("open", "closed")]
        return _judged(seen == wanted, " to ".join(wanted), text, step, question)
    if value is not None and (question.least or question.most):
        return _within(question, value, question.least, question.most, question.origin, step)
    if expected is None:
        return Judged(None)
    if value is not None and expected.number is not None:
        return _near(question, value, expected, step)
    return _judged(_same(text, expected.text), expected.text, text, step, question)


def limits_in_words(question: Question, expected: Expected | None) -> str:
    """What the answer should be, with where that comes from, for the screen and the report; empty where nothing is."""
    if question.least or question.most:
        return f"{_range(question.least, question.most, question.unit)} ({question.origin})"
    if expected is None:
        return ""
    beside = f"; {expected.beside}" if expected.beside else ""
    if question.within_pct and expected.number is not None:
        low, high = _tolerance(question, expected.number)
        return f"{_range(str(low), str(high), question.unit)} ({expected.origin}{beside}; {question.origin})"
    unit = _tail(question.unit) if expected.number is not None else ""
    return f"{expected.text}{unit} ({expected.origin}{beside})"


def _caused(question: Question, text: str) -> Verdict | None:
    if question.effect == "lowered limit":
        return None if text.strip().lower() in ("none", "no") else Verdict.NOT_TESTED
    return None if text == question.choices[0] else Verdict.SIMULATED


def _near(question: Question, value: float, expected: Expected, step: Step) -> Judged:
    wanted = expected.number or Decimal(0)
    if not question.within_pct:
        return _judged(_decimal(value) == wanted, expected.text, f"{value:g}", step, question)
    low, high = _tolerance(question, wanted)
    return _within(question, value, str(low), str(high), f"{expected.origin}; {question.origin}", step)


def _tolerance(question: Question, wanted: Decimal) -> tuple[Decimal, Decimal]:
    room = abs(wanted) * Decimal(question.within_pct) / 100
    return (wanted - room).normalize(), (wanted + room).normalize()


def _within(question: Question, value: float, least: str, most: str, origin: str, step: Step) -> Judged:
    number = _decimal(value)
    good = not (least and number < Decimal(least)) and not (most and number > Decimal(most))
    required = f"{_range(least, most, question.unit)} ({origin})"
    return _judged(good, required, f"{value:g} {question.unit}".rstrip(), step, question)


def _judged(good: bool, required: str, found: str, step: Step, question: Question) -> Judged:  # noqa: FBT001  # private
    asked = question.ask.rstrip("?")
    return Judged(
        Verdict.PASS if good else Verdict.FAIL, f"{step.id} {asked}: {required}", f"{step.id} {asked}: {found}"
    )


def _range(least: str, most: str, unit: str) -> str:
    tail = _tail(unit)
    if least and most:
        return f"{_plain(least)} to {_plain(most)}{tail}"
    return f"at least {_plain(least)}{tail}" if least else f"at most {_plain(most)}{tail}"


def _tail(unit: str) -> str:
    """A unit behind its number; a bare number has none."""
    return "" if unit in ("", "1") else f" {unit}"


def _plain(number: str) -> str:
    return format(Decimal(number), "f")


def _decimal(value: float) -> Decimal:
    return Decimal(f"{value:.12g}")


def _same(one: str, other: str) -> bool:
    return " ".join(one.lower().split()) == " ".join(other.lower().split())
