"""
A screen with a list, and one-line forms below it: a letter opens a form, its parts are typed between semicolons, what
follows from it is shown, and Enter records it.
"""

from collections.abc import Callable, Iterable, Sequence
from typing import ClassVar

import msgspec
from textual import on
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Input, Static

from commission.energy import EnergyError
from commission.job.bodies import Body
from commission.job.state import Job
from commission.terminal.frame import Frame
from commission.terminal.letters import ascii_only
from commission.terminal.widgets.lines import Key
from commission.terminal.widgets.page import Line, Page, numbered, paragraph
from commission.visit import Visit, VisitError


class Form(msgspec.Struct, frozen=True):
    """
    A one-line form.

    Args:
        title: What it does, as `Take one off the list`.

        parts: What is typed, in order, between semicolons.

        example: One whole line that would be taken.

        choices: What the first part may be, as ids and names; chosen by number, id or name. Free where None.

        make: The event for the parts given, by whoever is at the keys.

        follows: What follows from it, shown before it is recorded; recorded at once where it says nothing.
    """

    title: str
    parts: tuple[str, ...]
    example: str
    make: Callable[[Job, Sequence[str], str], Body]
    choices: Callable[[Job], dict[str, str]] | None = None
    follows: Callable[[Job, Sequence[str]], str] = lambda _job, _parts: ""


class FormScreen(Frame[None]):
    """A list with forms; a screen adds `listed` and its forms by the name that its keys use."""

    DEFAULT_CSS = """
    FormScreen #form { height: auto; max-height: 14; padding: 0 1; }
    FormScreen #given { margin: 0 1; }
    FormScreen #trouble { height: auto; max-height: 3; padding: 0 1; text-style: bold; }
    """
    forms: ClassVar[dict[str, Form]] = {}
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave_field", "back", show=False),
        Binding("enter", "record", "record", show=False),
        Binding("b", "app.walk", "back", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._form: Form | None = None
        self._ready: Body | None = None

    def listed(self, job: Job, width: int) -> list[Line]:
        """The lines of the list."""
        raise NotImplementedError

    def body(self) -> Iterable[Widget]:
        """The list, then the form when one is open."""
        yield Page(id="list", drawing=self.shell.shows.drawing)
        yield Static(id="form", markup=False)
        yield Input(id="given")
        yield Static(id="trouble", markup=False)

    def on_mount(self) -> None:
        """Draw the list; no form is open."""
        super().on_mount()
        self.draw()
        self._close()

    def draw(self) -> None:
        """Draw the list as it is."""
        visit = self.shell.desk.visit
        if visit is not None:
            self.query_one("#list", Page).show(lambda width: self.listed(visit.job, width))

    def keys_now(self) -> tuple[Key, ...]:
        """Enter records what is shown; otherwise as everywhere."""
        if self._ready is not None:
            return (Key("Enter", "records it", 0), Key("Esc", "does not", 0))
        return super().keys_now()

    def action_take(self, name: str) -> None:
        """Open a form."""
        visit = self.shell.desk.visit
        if visit is None:
            return
        self._close()
        self._form = form = self.forms[name]
        width = max(20, self.size.width - 2)
        choices = () if form.choices is None else tuple(form.choices(visit.job).values())
        lines = [
            *paragraph(f"{form.title}. Type: {'; '.join(form.parts)}", width),
            *paragraph(f"as: {form.example}", width),
            *numbered(choices, width),
        ]
        self._say("#form", "\n".join(lines))
        field = self.query_one("#given", Input)
        field.display = True
        self.lead_to(field)

    def action_leave_field(self) -> None:
        """Out of the form; without one, back to the walk."""
        if self._form is None:
            self.shell.action_walk()
        else:
            self._close()

    def action_record(self) -> None:
        """Record what was shown with all that follows from it."""
        visit, ready = self.shell.desk.visit, self._ready
        if visit is not None and ready is not None:
            self._record(visit, ready)

    @on(Input.Submitted, "#given")
    def submitted(self, event: Input.Submitted) -> None:
        """Show what follows from it, or record it where nothing does."""
        visit, form = self.shell.desk.visit, self._form
        if visit is None or form is None:
            return
        try:
            parts = parts_of(form, visit.job, event.value)
            body = form.make(visit.job, parts, self.shell.who)
        except (ValueError, LookupError) as error:
            self._say("#trouble", str(error))
            return
        follows = form.follows(visit.job, parts)
        if not follows:
            self._record(visit, body)
            return
        self._ready = body
        self.query_one("#given", Input).display = False
        self._say("#form", "\n".join(paragraph(follows, max(20, self.size.width - 2))))
        self._say("#trouble", "")
        self.lead_to(self.query_one("#list", Page))
        self.draw_lines()

    def _record(self, visit: Visit, body: Body) -> None:
        try:
            visit.record(body, self.shell.who)
        except (ValueError, LookupError, EnergyError, VisitError) as error:
            self._say("#trouble", str(error))
            return
        self._close()
        self.draw()
        self.shell.walk.wake()

    def _close(self) -> None:
        self._form = self._ready = None
        self._say("#form", "")
        self._say("#trouble", "")
        field = self.query_one("#given", Input)
        field.clear()
        field.display = False
        self.lead_to(self.query_one("#list", Page))

    def _say(self, where: str, text: str) -> None:
        line = self.query_one(where, Static)
        line.display = bool(text)
        line.update(Content(text if self.shell.shows.drawing else ascii_only(text)))


def parts_of(form: Form, job: Job, text: str) -> tuple[str, ...]:
    """
    The parts of a typed line, the first as an id where it is chosen.

    Raises:
        ValueError: too few or too many parts, or the first is none of the choices.
    """
    parts = tuple(part.strip() for part in text.split(";"))
    if len(parts) != len(form.parts):
        raise ValueError(f"{len(form.parts)} parts, {len(form.parts) - 1} semicolons between them, as: {form.example}")
    if form.choices is None:
        return parts
    return (chosen(form.choices(job), parts[0]), *parts[1:])


def chosen(choices: dict[str, str], text: str) -> str:
    """
    The id that a number, an id or a name stands for.

    Raises:
        ValueError: it is none of them.
    """
    ids = list(choices)
    by_number = {str(number): name for number, name in enumerate(ids, start=1)}
    by_name = {label.lower(): name for name, label in choices.items()}
    by_id = {name.lower(): name for name in ids}
    known = by_id.get(text.lower()) or by_name.get(text.lower()) or by_number.get(text)
    if known is None:
        raise ValueError(
            f"{text!r} is not in the list: give its number, 1 to {len(ids)}" if ids else "the list is empty"
        )
    return known
