"""Connecting, with the questions that come before it (safety rule R16): who else is on the line, and who agrees."""

import asyncio
from collections.abc import Iterable
from typing import ClassVar

from textual import on
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Input, Static

from commission.face.connecting import AGREED, OTHER_MASTER, connected_words, listening_words
from commission.link.faults import LinkError
from commission.link.ports import LISTEN_S, Port, serial_ports
from commission.link.url import parse_url
from commission.terminal.frame import Frame
from commission.terminal.widgets.lines import Key
from commission.visit import Visit, VisitError

ADDRESS = "Address of the unit, as tcp://192.0.2.7:502?unit=1 or rtu:///dev/ttyUSB0?baud=19200&parity=E&unit=11"

QUESTIONS = (("other", OTHER_MASTER), ("agreed", AGREED), ("url", ADDRESS))
"""Asked in this order; the address last, so that a wrong one is typed again without the others."""

METER_BY_WIRE = "Later, I reads a meter by wire, where one has a serial port."

START_PRACTICE = "This job is practice: Enter alone starts a practice unit for it, closed and as in service."


class ConnectScreen(Frame[bool]):
    """
    Asks, listens, connects; returns whether the unit answers.

    Args:
        visit: The open visit.
    """

    own_keys: ClassVar[tuple[Key, ...]] = (Key("Enter", "go on", 0), Key("B", "back to the walk", 1))
    with_sides = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave_field", "keys", show=False),
        Binding("enter", "go_on", "go on", show=False),
        Binding("b", "back", "back", show=False),
    ]
    CSS = """
    ConnectScreen #body { padding: 0 1; }
    ConnectScreen Static { height: auto; }
    ConnectScreen #asked { text-style: bold; padding: 1 0 0 0; }
    ConnectScreen #outcome { padding: 1 0; text-style: bold; }
    """

    def __init__(self, visit: Visit) -> None:
        super().__init__()
        self._visit = visit
        self._given: dict[str, str] = {}
        self._connected = False
        self._trying = False

    def body(self) -> Iterable[Widget]:
        """What was answered, the next question, then what came of it."""
        yield Static("Connect to the unit", classes="title", markup=False)
        yield Static(id="given-so-far", markup=False)
        yield Static(id="asked", markup=False)
        yield Input(id="given")
        yield Static(id="outcome", markup=False)

    def on_mount(self) -> None:
        """Ask, or only look again where a line exists; a practice unit needs nobody's word."""
        super().on_mount()
        self._is_practised()
        self._next()

    def _is_practised(self) -> None:
        practice = self.shell.desk.practice
        if practice is not None:
            self._given = {"url": practice.url, "other": "none: a practice unit", "agreed": "nobody: practice"}

    def action_leave_field(self) -> None:
        """Out of the field."""
        self.set_focus(None)

    def action_back(self) -> None:
        """Back to the walk without a line."""
        if not self._trying:
            self.dismiss(result=False)

    def action_go_on(self) -> None:
        """Back to the walk with the line; or ask the unit once more."""
        if self._connected:
            self.dismiss(result=True)
        elif not self._trying:
            self._next()

    @on(Input.Submitted, "#given")
    def submitted(self, event: Input.Submitted) -> None:
        """The next answer; an address that is none is said at once."""
        text, missing = event.value.strip(), self._missing()
        if missing == "url" and not text and self._may_start_practice:
            self.run_worker(self._start_practice(), exclusive=True)
        if not text or not missing:
            return
        if missing == "url":
            try:
                parse_url(text)
            except (LinkError, ValueError) as error:
                self._say(str(error))
                return
        self._given[missing] = text
        self.query_one("#given", Input).clear()
        self._next()

    @property
    def _may_start_practice(self) -> bool:
        """Whether this job is a practice job whose unit has ended with the program that started it."""
        return self._visit.job.practice and self.shell.desk.practice is None

    async def _start_practice(self) -> None:
        self._say("Starting the practice unit …")
        try:
            await asyncio.to_thread(self.shell.desk.practise_on, self._visit)
        except (ValueError, RuntimeError) as error:  # the latter where the process did not come up
            self._say(str(error))
            return
        self._is_practised()
        self._next()

    def _missing(self) -> str:
        """What is asked next; of a practice job the address first, since its own unit answers the rest."""
        names = [name for name, _ in QUESTIONS]
        if self._may_start_practice:
            names.insert(0, names.pop())
        return next((name for name in names if name not in self._given), "")

    def _next(self) -> None:
        if not self._visit.job.sheet.linked:
            field = self.query_one("#given", Input)
            field.display = field.can_focus = False
            self.query_one("#asked", Static).update("No link reads this unit: eyes, a meter and keys. B goes back.")
            self.set_focus(None)
            return

        missing = self._missing() if self._visit.link is None else ""
        field = self.query_one("#given", Input)
        field.display = bool(missing)
        asked = dict(QUESTIONS).get(missing, "")
        if missing == "url" and self._may_start_practice:
            asked = f"{asked}\n{START_PRACTICE}"
        self.query_one("#asked", Static).update(Content(asked))
        answered = [f"{words}  {self._given[name]}" for name, words in QUESTIONS if name in self._given]
        self.query_one("#given-so-far", Static).update(Content("\n".join(answered)))
        if missing:
            if missing == "url" and (ports := serial_ports()):
                self._say("\n".join(["Serial ports here:", *(_port_line(port) for port in ports)]))
            self.lead_to(field)
        else:
            self.set_focus(None)
            self.run_worker(self._connect(), exclusive=True)

    async def _connect(self) -> None:
        self._trying = True
        listening = asyncio.get_running_loop().create_task(self._count_listening())
        try:
            trouble = await self._tried()
        finally:
            self._trying = False
            listening.cancel()
            await asyncio.gather(listening, return_exceptions=True)
        link = self._visit.link
        if trouble or link is None:
            if self.shell.desk.practice is None and link is None:
                self._given.pop("url", None)
            self._say(f"NOT CONNECTED. {trouble}\nEnter tries again. B goes back to the walk.")
        elif self.shell.desk.practice is not None or "url" not in self._given:
            self.dismiss(result=True)
        else:
            self._connected = True
            self._say(f"{connected_words(link, parse_url(self._given['url']))}\n{METER_BY_WIRE}\nEnter goes on.")

    async def _tried(self) -> str:
        """Connect, or ask again on a line that exists; why that failed, or nothing."""
        given = self._given
        try:
            if self._visit.link is not None:
                return "" if await self._visit.answers_again() else self._visit.job.contact.reason
            await self._visit.connect(
                given["url"], other_master=given["other"], agreed_by=given["agreed"], by=self.shell.who
            )
        except (LinkError, VisitError, ValueError) as error:
            return str(error)
        return ""

    async def _count_listening(self) -> None:
        """Show that a serial line is listened to, and how long still; a network is connected to at once."""
        words = "" if self._visit.link is not None else listening_words(parse_url(self._given["url"]))
        if not words:
            self._say("Connecting …")
            return
        for second in range(round(LISTEN_S), 0, -1):
            self._say(f"{words}  {second}")
            await self._visit.clock.sleep_wire(1.0)
        self._say("Nobody else was heard. Connecting …")

    def _say(self, words: str) -> None:
        if self.is_here:
            self.query_one("#outcome", Static).update(Content(words))


def _port_line(port: Port) -> str:
    """Its name, and what the system knows of it, which may be nothing."""
    known = port.description if port.description not in ("", "n/a", port.device) else ""
    return f"  {port.device}  {known}".rstrip()
