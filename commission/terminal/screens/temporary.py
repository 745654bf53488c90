"""The temporary list: everything that is on, since when, by whom; it blocks signing until it is off again."""

from collections.abc import Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType

from commission.job.bodies import Body
from commission.job.lists import Temporary
from commission.job.state import Job
from commission.terminal.form import Form, FormScreen
from commission.terminal.widgets.lines import Key
from commission.terminal.widgets.page import Line, heading, paragraph
from commission.walk import acts


def _kinds(job: Job) -> dict[str, str]:
    return {kind.id: kind.name for kind in job.checklist.temporary.values()}


def _on_now(job: Job) -> dict[str, str]:
    items = [item.added for item in job.temporary.values() if item.is_on]
    return {added.id: f"{added.id} {added.what}, {added.where}" for added in items}


def _put_on(job: Job, parts: Sequence[str], _by: str) -> Body:
    kind, what, where, why = parts
    return acts.temporary_on(job, kind, what, where, why)


def _take_off(job: Job, parts: Sequence[str], by: str) -> Body:
    item, second, proof = parts
    return acts.temporary_off(job, item, second, proof, by)


class TemporaryScreen(FormScreen):
    """What is temporary."""

    own_keys: ClassVar[tuple[Key, ...]] = (Key("A", "add", 1), Key("O", "off", 1))
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "take('on')", "add", show=False),
        Binding("o", "take('off')", "off", show=False),
    ]
    forms: ClassVar[dict[str, Form]] = {
        "on": Form(
            title="Put on the list",
            parts=("kind", "what", "where", "why"),
            example="4; wire; TB-3 4 to 5; to hold the ESD loop",
            make=_put_on,
            choices=_kinds,
        ),
        "off": Form(
            title="Take one off the list",
            parts=("which", "second person who saw it", "what proves it"),
            example="1; O. Sampleton; alarm returned at 15:41",
            make=_take_off,
            choices=_on_now,
        ),
    }

    def listed(self, job: Job, width: int) -> list[Line]:
        """Everything temporary, what is on first."""
        return temporary_lines(job, width)


def temporary_lines(job: Job, width: int) -> list[Line]:
    """Everything temporary, what is on first; each with who, when and why, and how it came off."""
    items = sorted(job.temporary.values(), key=lambda item: not item.is_on)
    on = sum(item.is_on for item in items)
    if not items:
        return [heading("Nothing temporary is recorded."), *paragraph(_RULE, width)]
    lines: list[Line] = [heading(f"{on} ON, {len(items) - on} off again"), *paragraph(_RULE, width), ""]
    for item in items:
        lines += _item(job, item, width)
    return lines


_RULE = "Whatever is on blocks signing, until it is off, proved, and seen by a second person."


def _item(job: Job, item: Temporary, width: int) -> list[Line]:
    added = item.added
    known = job.checklist.temporary.get(added.kind)
    state = "ON " if item.is_on else "off"
    first, *more = paragraph(f"{known.name if known else added.kind}: {added.what}", width, f"{added.id:<4}{state} ")
    lines: list[Line] = [((first, "bold"),) if item.is_on else first, *more]
    lines += paragraph(f"{added.where}; {added.why}", width, " " * 8)
    lines += paragraph(f"on {item.on_utc[11:16]} UTC by {item.by}", width, " " * 8)
    if item.removed is not None:
        off = f"off {item.off_utc[11:16]} UTC by {item.off_by}, seen by {item.removed.second_person}"
        lines += paragraph(f"{off}: {item.removed.proved_by}", width, " " * 8)
    return lines
