"""Deviations: what is not as it should be. None is ever deleted; the owner's side accepts them by name."""

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

_ADD = "REQUIRED; FOUND, as: drawing revision D; drawing revision C on site"
_ACCEPT = "ID; WHO; WHY, as: D1; P. Exampler; part on order"
_TOUCHED = "WHAT; DETAIL, as: needle; from 2 to 1¾ turns"


class DeviationsScreen(Frame[None]):
    """Deviations and adjustments of the open job."""

    own_keys: ClassVar[tuple[Key, ...]] = (Key("A", "add", 1), Key("C", "accept", 1), Key("J", "adjusted", 1))
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "take('add')", "add", show=False),
        Binding("c", "take('accept')", "accept", show=False),
        Binding("j", "take('touched')", "adjusted", show=False),
        Binding("escape", "leave_field", "back", show=False),
        Binding("b", "app.walk", "back", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._purpose = ""

    def body(self) -> Iterable[Widget]:
        """The list, then a field when something is said."""
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
            self.query_one("#list", Static).update(Content("\n".join(deviation_lines(visit))))

    def action_take(self, purpose: str) -> None:
        """Ask for what is to be said."""
        self._purpose = purpose
        visit = self.shell.desk.visit
        hints = {"add": _ADD, "accept": _ACCEPT, "touched": _TOUCHED}
        kinds = f"\nWhat: {', '.join(visit.job.checklist.voids)}" if visit and purpose == "touched" else ""
        self.query_one("#hint", Static).update(Content(hints[purpose] + kinds))
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
        wanted = 3 if self._purpose == "accept" else 2
        if len(parts) != wanted:
            raise ValueError(f"{wanted} parts are wanted, separated by semicolons")
        job, by = visit.job, self.shell.who
        if self._purpose == "add":
            required, found = parts
            visit.record(acts.raise_deviation(job, self.shell.walk.step_id, required, found), by)
        elif self._purpose == "accept":
            deviation, who, reason = parts
            visit.record(acts.accept_deviation(job, deviation, who, reason), by)
        else:
            touched, detail = parts
            visit.record(acts.adjusted(job, touched, detail), by)


def deviation_lines(visit: Visit) -> list[str]:
    """Every deviation, then what was adjusted and what that made void."""
    job = visit.job
    lines = [f"Deviations: {len(job.deviations)}", ""]
    for item in job.deviations.values():
        raised = item.raised
        state = f"accepted by {item.accepted_by}: {item.accepted.reason}" if item.accepted else "open"
        lines.append(f"{raised.id:<4}class {raised.classed} {raised.step}: found {raised.found}"[:78])
        lines.append(f"        required {raised.required}; {state}"[:78])
    lines += ["", f"Adjustments: {len(job.contact.adjustments)}"]
    for touched in job.contact.adjustments:
        lines.append(
            f"  {touched.at_utc[11:16]} {touched.adjusted.touched}: {touched.adjusted.detail}, {touched.by}"[:78]
        )
    void = [name for name, state in job.steps.items() if state.last is not None and state.last.voided_by]
    if void:
        lines.append(f"Void, to be repeated: {', '.join(void)}"[:78])
    return lines
