"""
One keyboard, several people: an answer may end in `by NAME`, and is then that person's word.

A lock is removed by its owner (29 CFR 1910.147(e)(3)) and each person says their own word, so whoever types names who
says it: `lock 12 by J. Demoval`. Only where no answer can mean something else by it: `witnessed by O. Sampleton` stays
the text that it is, and `blocked by screw cap SC-2` names nobody who is known.
"""

import re
from collections.abc import Iterable

from commission.job.state import Job
from commission.walk.prompts import Ask, Evidence, Prompt

_BY_NAME = re.compile(r"(?P<said>.*\S)\s+by\s+(?P<name>\S.*?)\s*", re.IGNORECASE | re.DOTALL)
_FREE_TEXT = frozenset({"text", "person"})


def with_speaker(job: Job, prompt: Prompt, text: str, at_keyboard: str) -> tuple[str, str]:
    """
    What was answered, and whose word it is.

    Args:
        job: Where the visit stands.

        prompt: What was asked.

        text: As typed.

        at_keyboard: Whose word it is unless the answer names somebody.

    Returns:
        The answer without `by NAME`, and the name.
    """
    match = _BY_NAME.fullmatch(text)
    if match is None:
        return text, at_keyboard
    known = _person(match["name"], job.register.people)
    if isinstance(prompt, Evidence):
        name = known or (match["name"] if prompt.need.ask == "lock" else None)
    elif isinstance(prompt, Ask) and prompt.question.kind not in _FREE_TEXT:
        name = known
    else:
        name = None
    return (text, at_keyboard) if name is None else (match["said"], name)


def owner_line(job: Job, prompt: Prompt, at_keyboard: str) -> str:
    """Whose lock comes off, and how its owner says so at somebody else's keyboard; empty for any other prompt."""
    if not isinstance(prompt, Evidence) or prompt.need.fact != "lock removed":
        return ""
    lock = job.energy_log.now.locks.get(prompt.need.subject)
    if lock is None or lock.by == at_keyboard:
        return ""
    return f"This lock is {lock.by}'s: only {lock.by} takes it off, and says so, as: lock NUMBER by {lock.by}"


def _person(said: str, people: Iterable[str]) -> str | None:
    """The registered spelling of a name."""
    wanted = " ".join(said.lower().split())
    return next((name for name in people if " ".join(name.lower().split()) == wanted), None)
