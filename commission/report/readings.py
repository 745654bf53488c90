"""
The answers that were judged, in two short tables: readings beside their limits, and what was found in words.

What is true of many rows is said once under them: where limits come from (named by a letter), who gave most of the
answers, and the verdict where all have the same.
"""

import re
from collections import Counter
from collections.abc import Iterator, Sequence

import msgspec

from commission.checklist import Question, Step
from commission.job import state
from commission.job.steps import GivenAnswer
from commission.report.table import Row, Table
from commission.walk.expected import expected
from commission.walk.judgement import limits_in_words

FROM_FILE = "†"
"""Mark of an answer that was not typed on site but read from a file."""


class Judged(msgspec.Struct, frozen=True):
    """One judged answer: its step, its question, and what was given."""

    step: Step
    question: Question
    given: GivenAnswer


def readings(job: state.Job) -> Table:
    """Answers that have a limit or an expected value, beside it, from the attempt that stands."""
    origins: dict[str, str] = {}
    rows: list[Row] = []
    judged = list(_judged(job))
    for item in judged:
        words, origin = _limit(job, item)
        if words:
            letter = origins.setdefault(origin, _letter(len(origins)))
            verdict = item.given.answered.verdict or "not judged"
            rows.append((item.step.id, item.question.ask, f"{words} [{letter}]", _found(job, item), verdict))
    sources = "; ".join(f"[{letter}] {origin}" for origin, letter in origins.items())
    return _one_verdict(
        "Readings and their limits",
        ("step", "reading", "limit", "found", "verdict"),
        rows,
        [f"Limits from {sources}."] if sources else [],
        [] if in_words(job).rows else _about(job),
    )


def in_words(job: state.Job) -> Table:
    """Answers that were judged by what they say. Printed first: who gave all the answers is said under it."""
    rows = [
        (item.step.id, item.question.ask, _found(job, item), item.given.answered.verdict)
        for item in _judged(job)
        if not _limit(job, item)[0]
    ]
    return _one_verdict("Found, in words", ("step", "asked", "found", "verdict"), rows, [], _about(job))


def _one_verdict(title: str, columns: Row, rows: Sequence[Row], first: list[str], last: list[str]) -> Table:
    """A table whose last column is the verdict; one that all rows share is said under it instead."""
    verdicts = {row[-1] for row in rows}
    notes = list(last)
    if len(verdicts) == 1 and len(rows) > 1:
        notes.insert(0, f"Verdict of each: {verdicts.pop()}.")
        columns, rows = columns[:-1], [row[:-1] for row in rows]
    lines = (*first, " ".join(notes)) if rows else ()
    return Table(title=title, columns=columns, rows=tuple(rows), notes=tuple(line for line in lines if line))


def _judged(job: state.Job) -> Iterator[Judged]:
    for step in job.checklist.steps:
        attempts = job.steps.get(step.id)
        if attempts is None or attempts.last is None:
            continue
        for question in step.questions:
            given = attempts.last.answers.get(question.id)
            if given is not None and (question.least or question.most or given.answered.verdict):
                yield Judged(step, question, given)


def _limit(job: state.Job, item: Judged) -> tuple[str, str]:
    """What the answer should be and where that comes from; empty where the answer is judged by its words."""
    question = item.question
    if question.kind == "choice":
        return "", ""
    if question.unit == "1":  # a bit or a count: the symbol of a ratio reads as a number there
        question = msgspec.structs.replace(question, unit="")
    words, _, origin = limits_in_words(question, expected(job, item.step, question)).partition(" (")
    if item.given.answered.value is not None:
        words = _WITH_POINT.sub(_short, words)
    return words, origin.removesuffix(")")


_WITH_POINT = re.compile(r"\d+\.\d+")


def _short(number: re.Match[str]) -> str:
    """A computed limit to three decimals, though it was judged with all; no lonely zero after the point."""
    decimals = number[0].partition(".")[2]
    return f"{float(number[0]):.3f}" if len(decimals) > 3 else number[0].removesuffix(".0")


def _letter(number: int) -> str:
    """`a` to `z`, then `a1` and so on."""
    return chr(ord("a") + number % 26) + (str(number // 26) if number >= 26 else "")


def _found(job: state.Job, item: Judged) -> str:
    answered = item.given.answered
    unit = "" if answered.unit in ("", "1") or not _is_plain_number(answered.text) else f" {answered.unit}"
    mark = f" {FROM_FILE}" if answered.from_file else ""
    name = f" ({item.given.by})" if item.given.by != _usual(job) else ""
    return f"{answered.text}{unit}{mark}{name}"


def _is_plain_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _usual(job: state.Job) -> str:
    """Who gave most of the judged answers; empty where there is none."""
    names = Counter(item.given.by for item in _judged(job))
    return names.most_common(1)[0][0] if names else ""


def _about(job: state.Job) -> list[str]:
    judged = list(_judged(job))
    lines = [f"All judged answers by {_usual(job)} unless another is named."] if judged else []
    if any(item.given.answered.from_file for item in judged):
        lines.append(f"{FROM_FILE}: from an answers file, not typed on site.")
    return lines
