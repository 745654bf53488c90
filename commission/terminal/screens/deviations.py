"""Deviations: what is not as it should be. None is ever deleted; the owner's side accepts them by name."""

from collections.abc import Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType

from commission.job.bodies import Body
from commission.job.lists import Deviation
from commission.job.state import Job
from commission.terminal.form import Form, FormScreen
from commission.terminal.widgets.lines import Key
from commission.terminal.widgets.page import Line, heading, paragraph
from commission.walk import acts, route

CLASSES = {"A": "A, before start-up", "B": "B, by a date", "C": "C, a note"}


def _open(job: Job) -> dict[str, str]:
    items = [item.raised for item in job.deviations.values() if item.accepted is None]
    return {raised.id: f"{raised.id} {raised.found}" for raised in items}


def _touchable(job: Job) -> dict[str, str]:
    return {rule.id: rule.touched for rule in job.checklist.voids.values()}


def _raise(job: Job, parts: Sequence[str], _by: str) -> Body:
    classed, required, found = parts
    step = route.current(job)
    return acts.raise_deviation(job, "" if step is None else step.id, required, found, classed=classed)


def _accept(job: Job, parts: Sequence[str], _by: str) -> Body:
    deviation, who, reason = parts
    return acts.accept_deviation(job, deviation, who, reason)


def _adjust(job: Job, parts: Sequence[str], _by: str) -> Body:
    touched, detail = parts
    return acts.adjusted(job, touched, detail)


def would_void_words(job: Job, parts: Sequence[str]) -> str:
    """What an adjustment makes void, before it is recorded."""
    touched, detail = parts
    name = _touchable(job)[touched]
    void = [named_step(job, step) for step in acts.would_void(job, touched)]
    follows = (
        f"makes void, to be repeated: {'; '.join(void)}" if void else "makes nothing void: nothing of it was done yet"
    )
    return f"{name} ({detail}) {follows}. Enter records it; Esc does not."


class DeviationsScreen(FormScreen):
    """Deviations and adjustments of the open job."""

    own_keys: ClassVar[tuple[Key, ...]] = (Key("A", "add", 1), Key("C", "accept", 1), Key("J", "adjusted", 1))
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "take('add')", "add", show=False),
        Binding("c", "take('accept')", "accept", show=False),
        Binding("j", "take('touched')", "adjusted", show=False),
    ]
    forms: ClassVar[dict[str, Form]] = {
        "add": Form(
            title="Something is not as it should be",
            parts=("class A, B or C", "required", "found"),
            example="B; drawing revision D; drawing revision C on site",
            make=_raise,
            choices=lambda _job: CLASSES,
        ),
        "accept": Form(
            title="The owner's side accepts a deviation",
            parts=("which", "who of the owner's side", "why"),
            example="1; P. Exampler; spare part on order",
            make=_accept,
            choices=_open,
        ),
        "touched": Form(
            title="Something was adjusted",
            parts=("what", "from and to"),
            example="5; from 2 to 1¾ turns",
            make=_adjust,
            choices=_touchable,
            follows=would_void_words,
        ),
    }

    def listed(self, job: Job, width: int) -> list[Line]:
        """Every deviation, then what was adjusted."""
        return deviation_lines(job, width)


def deviation_lines(job: Job, width: int) -> list[Line]:
    """Every deviation, then what was adjusted and what is void since."""
    items = job.deviations.values()
    still = sum(item.accepted is None for item in items)
    counted = f"Deviations: {still} open, {len(items) - still} accepted" if items else "No deviation is recorded."
    lines: list[Line] = [heading(counted)]
    for item in items:
        lines += _deviation(job, item, width)
    touched = job.contact.adjustments
    lines += ["", heading(f"Adjustments: {len(touched)}" if touched else "Nothing was adjusted.")]
    for one in touched:
        rule = job.checklist.voids.get(one.adjusted.touched)
        name = rule.touched if rule else one.adjusted.touched
        lines += paragraph(f"{name}: {one.adjusted.detail}; {one.by}", width, f"{one.at_utc[11:16]} UTC  ")
    void = [
        named_step(job, name) for name, state in job.steps.items() if state.last is not None and state.last.voided_by
    ]
    if void:
        lines += ["", heading("Void, to be repeated")]
        for name in void:
            lines += paragraph(name, width, "  ", "      ")
    return lines


def named_step(job: Job, name: str) -> str:
    """A step with its title."""
    title = next((step.title for step in job.checklist.steps if step.id == name), "")
    return f"{name} {title}".rstrip()


def _deviation(job: Job, item: Deviation, width: int) -> list[Line]:
    raised = item.raised
    first, *more = paragraph(f"found: {raised.found}", width, f"{raised.id:<4}{'open ' if not item.accepted else ''}")
    lines: list[Line] = [first if item.accepted else ((first, "bold"),), *more]
    if raised.required:
        lines += paragraph(f"required: {raised.required}", width, " " * 6)
    where = f", at {named_step(job, raised.step)}" if raised.step else ""
    said = f"class {CLASSES.get(raised.classed, raised.classed)}{where}"
    lines += paragraph(f"{said}; {item.by}, {item.at_utc[11:16]} UTC", width, " " * 6)
    if item.accepted is not None:
        lines += paragraph(f"accepted by {item.accepted.reason} (recorded by {item.accepted_by})", width, " " * 6)
    return lines
