"""The temporary list: everything that is on, since when, by whom; it blocks signing until it is off again."""

from collections.abc import Iterable
from typing import ClassVar

from textual import on
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Input, Static

from commission.terminal.frame import Frame
from commission.terminal.widgets.lines import Key
from commission.visit import Visit, VisitError
from commission.walk import acts

_ADD = "KIND; WHAT; WHERE; WHY, as: jumper; wire; TB-3 4 to 5; to hold the ESD loop"
_OFF = "ID; SECOND PERSON; PROOF, as: T1; O. Sampleton; alarm returned at 15:41"


class TemporaryScreen(Frame[None]):
    """What is temporary."""

    own_keys: ClassVar[tuple[Key, ...]] = (Key("A", "add", 1), Key("O", "off", 1))
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "take('on')", "add", show=False),
        Binding("o", "take('off')", "off", show=False),
        Binding("escape", "leave_field", "back", show=False),
        Binding("b", "app.walk", "back", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._purpose = ""

    def body(self) -> Iterable[Widget]:
        """The list, then a field when something is added or taken off."""
        yield Static(id="list", markup=False)
        yield Static(id="hint", markup=False)
        yield Input(id="given")
        yield Static(id="problem", markup=False)

    def on_mount(self) -> None:
        """Draw the list."""
        super().on_mount()
        self.query_one("#given", Input).display = False
        self.draw()

    def draw(self) -> None:
        """Draw the list as it is."""
        visit = self.shell.desk.visit
        if visit is not None:
            self.query_one("#list", Static).update(Content("\n".join(temporary_lines(visit))))

    def action_take(self, purpose: str) -> None:
        """Ask for something to put on, or to take off."""
        self._purpose = purpose
        visit = self.shell.desk.visit
        kinds = "" if visit is None else f"\nKinds: {', '.join(visit.job.checklist.temporary)}"
        self.query_one("#hint", Static).update(Content(_ADD + kinds if purpose == "on" else _OFF))
        field = self.query_one("#given", Input)
        field.display = True
        field.clear()
        field.focus()

    def action_leave_field(self) -> None:
        """Out of the field; again, back to the walk."""
        if self.shell.field_focused:
            self.set_focus(None)
        else:
            self.shell.action_walk()

    @on(Input.Submitted, "#given")
    def submitted(self, event: Input.Submitted) -> None:
        """Record it."""
        visit = self.shell.desk.visit
        parts = [part.strip() for part in event.value.split(";")]
        try:
            if visit is not None:
                self._record(visit, parts)
        except (ValueError, LookupError, VisitError) as error:
            self.query_one("#problem", Static).update(Content(str(error)))
            return
        self.query_one("#problem", Static).update(Content(""))
        self.query_one("#given", Input).display = False
        self.set_focus(None)
        self.draw()
        self.shell.walk.wake()

    def _record(self, visit: Visit, parts: list[str]) -> None:
        wanted, example = (4, _ADD) if self._purpose == "on" else (3, _OFF)
        if len(parts) != wanted:
            raise ValueError(f"{wanted} parts are wanted, separated by semicolons: {example}")
        by = self.shell.who
        if self._purpose == "on":
            kind, what, where, why = parts
            visit.record(acts.temporary_on(visit.job, kind, what, where, why), by)
        else:
            item, second, proof = parts
            visit.record(acts.temporary_off(visit.job, item, second, proof, by), by)


def temporary_lines(visit: Visit) -> list[str]:
    """Everything temporary, what is on first."""
    items = sorted(visit.job.temporary.values(), key=lambda item: not item.is_on)
    lines = [f"Temporary: {sum(item.is_on for item in items)} on. Each blocks signing until it is off again.", ""]
    for item in items:
        added = item.added
        lines.append(f"{added.id:<4}{'ON ' if item.is_on else 'off'} {added.kind}: {added.what}, {added.where}"[:78])
        lines.append(f"        {added.why}; on {item.on_utc[11:16]} {item.by}"[:78])
        if item.removed is not None:
            lines.append(f"        off {item.off_utc[11:16]} {item.off_by}, seen by {item.removed.second_person}"[:78])
    return lines
