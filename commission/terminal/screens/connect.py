"""Connecting, with the questions that come before it (safety rule R16): who else is on the line, and who agrees."""

from collections.abc import Iterable
from typing import ClassVar

from textual import on
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Input, Static

from commission.link.faults import LinkError
from commission.terminal.frame import Frame
from commission.terminal.widgets.lines import Key
from commission.visit import Visit, VisitError

_QUESTIONS = (
    ("url", "Address of the unit, as tcp://192.0.2.7:502?unit=1 or rtu:///dev/ttyUSB0?baud=19200&parity=E&unit=11"),
    ("other", "Is another master on this line? Who loses data when you connect? (none, or who)"),
    ("agreed", "Who in the control room agrees? (a name)"),
)


class ConnectScreen(Frame[bool]):
    """
    Asks, listens, connects; returns whether the unit answers.

    Args:
        visit: The open visit.
    """

    own_keys: ClassVar[tuple[Key, ...]] = (Key("Enter", "try again", 0), Key("B", "back", 1))
    with_sides = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave_field", "keys", show=False),
        Binding("enter", "again", "try again", show=False),
        Binding("b", "back", "back", show=False),
    ]

    def __init__(self, visit: Visit) -> None:
        super().__init__()
        self._visit = visit
        self._given: dict[str, str] = {}

    def body(self) -> Iterable[Widget]:
        """The questions one after the other, then what came of it."""
        yield Static("Connect to the unit", classes="title", markup=False)
        yield Static(id="asked", markup=False)
        yield Input(id="given")
        yield Static(id="outcome", markup=False)

    def on_mount(self) -> None:
        """Ask, or only look again where a line exists."""
        super().on_mount()
        practice = self.shell.desk.practice
        if practice is not None:
            self._given = {"url": practice.url, "other": "none: a practice unit", "agreed": "nobody: practice"}
        self._next()

    def action_leave_field(self) -> None:
        """Out of the field."""
        self.set_focus(None)

    def action_back(self) -> None:
        """Back to the walk without a line."""
        self.dismiss(result=False)

    def action_again(self) -> None:
        """Ask the unit once more."""
        self._next()

    @on(Input.Submitted, "#given")
    def submitted(self, event: Input.Submitted) -> None:
        """The next answer."""
        text = event.value.strip()
        missing = self._missing()
        if text and missing:
            self._given[missing] = text
            self.query_one("#given", Input).clear()
        self._next()

    def _missing(self) -> str:
        return next((name for name, _ in _QUESTIONS if name not in self._given), "")

    def _next(self) -> None:
        missing = self._missing() if self._visit.link is None else ""
        field = self.query_one("#given", Input)
        field.display = bool(missing)
        words = dict(_QUESTIONS).get(missing, "Connecting …")
        self.query_one("#asked", Static).update(Content(words))
        if missing:
            field.focus()
        else:
            self.set_focus(None)
            self.run_worker(self._connect(), exclusive=True)

    async def _connect(self) -> None:
        given = self._given
        try:
            if self._visit.link is None:
                await self._visit.connect(
                    given["url"], other_master=given["other"], agreed_by=given["agreed"], by=self.shell.who
                )
                up = True
            else:
                up = await self._visit.answers_again()
        except (LinkError, VisitError, ValueError) as error:
            self._given.pop("url", None) if self.shell.desk.practice is None else None
            self.query_one("#outcome", Static).update(Content(str(error)))
            return
        if up:
            self.dismiss(result=True)
        else:
            reason = self._visit.job.contact.reason
            self.query_one("#outcome", Static).update(Content(f"{reason}\nEnter tries again; B goes back."))
