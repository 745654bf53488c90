"""The running test: trace, time, guards and how near each is, and what the stop key does. Nothing here has a field."""

from collections import deque
from collections.abc import Iterable
from typing import ClassVar

from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from commission.supervise.order import MotionView
from commission.terminal.frame import Frame
from commission.terminal.widgets.lines import Key
from commission.terminal.widgets.trace import Trace
from commission.visit import Visit

REDRAW_S = 0.1
MOST_POINTS = 2000
_PASCAL_PER_BAR = 1e5


class MotionScreen(Frame[None]):
    """
    Shows the open motion; it can only be stopped from here.

    Args:
        visit: The open visit.
    """

    own_keys: ClassVar[tuple[Key, ...]] = (Key("SPACE", "stop", 0), Key("G", "GAS ALARM", 1))
    with_sides = False

    def __init__(self, visit: Visit) -> None:
        super().__init__()
        self._visit = visit
        self._points: deque[tuple[float, float]] = deque(maxlen=MOST_POINTS)
        self._last_number = 0

    def body(self) -> Iterable[Widget]:
        """Test and time, trace, readings, guards."""
        yield Static(id="now", markup=False)
        yield Trace(0, 100, "%", drawing=self.shell.shows.drawing, id="travel")
        yield Static(id="readings", markup=False)
        yield Static(id="guards", markup=False)

    def on_mount(self) -> None:
        """Begin to draw."""
        super().on_mount()
        self.set_interval(REDRAW_S, self.draw)

    def draw(self) -> None:
        """Draw the motion as it is now."""
        supervisor = self._visit.supervisor
        view = None if supervisor is None else supervisor.view
        if supervisor is None or view is None:
            return
        readings = view.latest
        if readings is not None and readings.number != self._last_number:
            self._last_number = readings.number
            travel = readings.value("travel")
            if travel is not None:
                self._points.append(((readings.at_ns - view.begun_ns) / 1e9, travel * 100))
                self.query_one("#travel", Trace).show(self._points)
        self.query_one("#now", Static).update(Content(_heading(view)))
        self.query_one("#readings", Static).update(Content(_readings(view)))
        begun = supervisor.begun
        guards = () if begun is None else tuple(begun.guards)
        self.query_one("#guards", Static).update(Content(f"Watched: {', '.join(guards) or 'nothing'}"))


def _heading(view: MotionView) -> str:
    at_s = 0.0 if view.latest is None else (view.latest.at_ns - view.begun_ns) / 1e9
    state = "ENDING" if view.ending else view.command or "waiting"
    return f"{view.test}   {at_s:6.1f} s   {state}"


def _readings(view: MotionView) -> str:
    if view.silence is not None:
        return f"NO ANSWER: {view.silence.reason}. Stay clear; look at the stem."
    latest = view.latest
    if latest is None:
        return "waiting for the first reading"
    parts = []
    for role, name, factor, unit in (
        ("travel", "travel", 100, "%"),
        ("cylinder_pressure", "pressure", 1 / _PASCAL_PER_BAR, "bar"),
        ("motor_current", "motor", 1, "A"),
    ):
        value = latest.value(role)
        if value is not None:
            parts.append(f"{name} {value * factor:.1f} {unit}")
    return "   ".join(parts)
