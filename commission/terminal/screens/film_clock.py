"""The film clock in the app: large digits, to be filmed together with the stem, between the lines of every screen."""

from collections.abc import Iterable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget
from textual.widgets import Static

from commission.analysis.film_clock import REDRAWN_S, reading_at
from commission.terminal.film_clock import picture
from commission.terminal.frame import Frame
from commission.terminal.widgets.lines import Key

LINES = 3
"""State line, key line and stop field."""

ASKS = "The test asks something. C goes back to it."


class FilmClockScreen(Frame[None]):
    """The clock, from its opening on; in front of a running test too, whose stop key works here as everywhere."""

    DEFAULT_CSS = (
        "FilmClockScreen #clock { width: 100%; height: 1fr; text-align: center; content-align: center middle; }"
    )
    own_keys: ClassVar[tuple[Key, ...]] = (Key("C", "back", 0),)
    with_sides = False
    BINDINGS: ClassVar[list[BindingType]] = [Binding("c,b,escape", "back", "back", show=False)]

    def body(self) -> Iterable[Widget]:
        """One picture."""
        yield Static(id="clock", markup=False)

    def on_mount(self) -> None:
        """Begin to run, and to be drawn."""
        super().on_mount()
        self._begun_ns = self.shell.desk.clock.wire_ns()
        self.set_interval(REDRAWN_S, self.draw)
        self.draw()

    def draw(self) -> None:
        """Draw the time as it is now."""
        if not self.is_active:
            return
        reading = reading_at(self.shell.desk.clock.wire_ns() - self._begun_ns)
        asked = self.shell.desk.in_motion and self.shell.speaker.question is not None
        ends = ASKS if asked else "C goes back."
        height = self.size.height - LINES
        shown = picture(reading, self.size.width, height, drawing=self.shell.shows.drawing, ends=ends)
        self.query_one("#clock", Static).update(shown)

    def action_back(self) -> None:
        """To what was shown before."""
        self.dismiss(None)
