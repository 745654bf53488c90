"""A meter on a serial port of this laptop: opened here, it answers what M1 and M2 ask of it, and nobody types."""

from collections.abc import Iterable
from typing import ClassVar

from textual import on
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Input, Static

from commission.content import ContentError
from commission.face.metered import known_meters, opened_meter
from commission.link.faults import LinkError
from commission.link.meter import Meter
from commission.link.ports import serial_ports
from commission.terminal.frame import Frame
from commission.terminal.widgets.lines import Key

WHAT_FOR = (
    "Where a span test (M1, M2) asks for the meter, the instrument is asked itself, once it has settled; the record "
    "names it and keeps what it sent. It is only ever asked, never set. Stem and control room are still read by people."
)
ASKED = "Instrument and its port, as M-03=/dev/ttyUSB1; none: readings are typed again"
NONE = "none"
BENCH = "M-03"
"""The meter in the feedback loop on a practice unit's bench."""


class MeterScreen(Frame[None]):
    """Which meter says its own readings."""

    own_keys: ClassVar[tuple[Key, ...]] = (Key("Enter", "open it", 0),)
    DEFAULT_CSS = """
    MeterScreen #body { padding: 0 1; }
    MeterScreen Static { height: auto; }
    MeterScreen #asked { text-style: bold; padding: 1 0 0 0; }
    MeterScreen #outcome { padding: 1 0; text-style: bold; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave_field", "back", show=False),
        Binding("b", "app.walk", "back", show=False),
    ]

    def body(self) -> Iterable[Widget]:
        """What it is for, what there is, the question, what came of it."""
        yield Static("A meter that says its own readings", classes="title", markup=False)
        yield Static(WHAT_FOR, markup=False)
        yield Static(id="known", markup=False)
        yield Static(id="asked", markup=False)
        yield Input(id="given")
        yield Static(id="outcome", markup=False)

    def on_mount(self) -> None:
        """List instruments and ports; what is open is said."""
        super().on_mount()
        known = [f"  {sheet.id}  {sheet.name}" for sheet in known_meters()]
        ports = [f"  {port.device}" for port in serial_ports()] or ["  none"]
        lines = ["Instruments that the program knows how to ask:", *known, "Serial ports here:", *ports]
        self.query_one("#known", Static).update(Content("\n".join(lines)))
        asked = (
            ASKED if not self._bench else f"{ASKED}\nPractice: Enter alone opens {self._bench}, on the unit's bench."
        )
        self.query_one("#asked", Static).update(Content(asked))
        self._say(self._open_now)
        self.query_one("#given", Input).focus()

    @property
    def _bench(self) -> str:
        """The practice unit's own meter; empty where none was started here."""
        device = self.shell.desk.practice_meters.get(BENCH, "")
        return f"{BENCH}={device}" if device else ""

    @property
    def _open_now(self) -> str:
        meter = self.shell.speaker.meter
        return "Readings are typed." if meter is None else f"{meter.sheet.id} says its own readings."

    def action_leave_field(self) -> None:
        """Out of the field, then back to the walk."""
        if self.shell.field_focused:
            self.set_focus(None)
        else:
            self.shell.action_walk()

    @on(Input.Submitted, "#given")
    def submitted(self, event: Input.Submitted) -> None:
        """Open what was named; an empty line opens the practice unit's own."""
        named = event.value.strip() or self._bench
        if named.lower() == NONE:
            self.shell.speaker.take_meter(None)
            self._say(self._open_now)
        elif named:
            self._say("Asking it …")
            self.run_worker(self._open(named), exclusive=True)

    async def _open(self, named: str) -> None:
        desk = self.shell.desk
        try:
            meter = await opened_meter(named, desk.clock)
        except (LinkError, ContentError, ValueError) as error:
            self._say(f"NOT OPENED. {error}")
            return
        if desk.visit is None or (meter.is_practice and not desk.visit.job.practice):
            meter.close()
            self._say(f"NOT OPENED. {meter.sheet.id} is a practice instrument, and this job is no practice.")
            return
        self.shell.speaker.take_meter(meter)
        self._say(await _shown(meter))

    def _say(self, words: str) -> None:
        if self.is_here:
            self.query_one("#outcome", Static).update(Content(words))


async def _shown(meter: Meter) -> str:
    """What it reads now, or why it does not."""
    try:
        reading = await meter.read()
    except LinkError as error:
        return f"{meter.sheet.id} is open. {error}"
    return f"{meter.sheet.id} says its own readings: {reading.value * 1e3:.2f} mA now. W goes on."
