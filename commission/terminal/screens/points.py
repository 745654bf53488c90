"""The points of the unit now: engineering value beside the raw registers, age, and the health of the line."""

from collections.abc import Iterable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widget import Widget
from textual.widgets import DataTable, Static

from commission.clock import NS_PER_S
from commission.sheet import ROLES, RoleKind
from commission.sheet.decode import Readings
from commission.terminal.frame import Frame
from commission.terminal.widgets.lines import Key
from commission.visit import Visit

REFRESH_S = 0.5
OLD_S = 5.0
COLUMNS = (("point", "point", 30), ("now", "now", 14), ("unit", "unit", 5), ("raw", "raw", 11), ("age s", "age", 6))


class PointsScreen(Frame[None]):
    """All points, read again and again."""

    own_keys: ClassVar[tuple[Key, ...]] = (Key("Up/Down", "scroll", 6),)
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,b", "app.walk", "back", show=False)]

    def body(self) -> Iterable[Widget]:
        """Health first, then the table."""
        yield Static(id="health", markup=False)
        yield DataTable(id="points", cursor_type="row", zebra_stripes=False)

    def on_mount(self) -> None:
        """Begin to read."""
        super().on_mount()
        table: DataTable[Content] = self.query_one("#points", DataTable)
        for label, key, width in COLUMNS:
            table.add_column(label, key=key, width=width)
        self.set_interval(REFRESH_S, self.draw)
        self.draw()

    def draw(self) -> None:
        """Draw what was read last."""
        visit = self.shell.desk.visit
        if visit is None:
            return
        self.query_one("#health", Static).update(Content(_health(visit)))
        latest = visit.latest
        if latest is None:
            return
        table: DataTable[Content] = self.query_one("#points", DataTable)
        for point in visit.job.sheet.points:
            reading = latest.readings.get(point.role)
            if reading is None:
                continue
            cells = _cells(point.role, latest.readings, latest.raw(point), visit)
            if point.role in table.rows:
                for key, cell in zip(("point", "now", "unit", "raw", "age"), cells, strict=True):
                    table.update_cell(point.role, key, cell)
            else:
                table.add_row(*cells, key=point.role)


def _cells(role: str, readings: Readings, raw: str, visit: Visit) -> tuple[Content, ...]:
    known, reading = ROLES[role], readings[role]
    age_s = max(0.0, (visit.clock.unit_ns() - reading.at_ns) / NS_PER_S / visit.clock.speed)
    if known.kind is RoleKind.BIT:
        value, unit = (known.true_word if reading.is_true else known.false_word), ""
    else:
        value, unit = _shown(reading.value, role, known.unit)
    style = "strike" if age_s > OLD_S or not visit.job.contact.up else ""
    now = Content.styled(value, style) if style else Content(value)
    return Content(known.label), now, Content(unit), Content(raw), Content(f"{age_s:.1f}")


def _shown(value: float, role: str, unit: str) -> tuple[str, str]:
    if unit == "Pa":
        return f"{value / 1e5:.1f}", "bar"
    if role in ("travel", "fluid_level"):
        return f"{value * 100 + 0.0:.1f}", "%"
    if role in ("feedback_current", "command_current"):
        return f"{value * 1000:.3f}", "mA"
    if unit == "1" and value == int(value):
        return str(int(value)), ""
    return f"{value:.2f}", {"degC": "°C", "1": ""}.get(unit, unit)


def _health(visit: Visit) -> str:
    link = visit.link
    if link is None:
        return "No line to the unit."
    facts = link.facts
    counts = ", ".join(f"{number} {kind}" for kind, number in sorted(link.health.counts.items()) if number)
    struck = link.health.struck_out(visit.clock.unit_ns())
    warning = f"\nNOT TO BE BELIEVED: {struck}" if struck else ""
    return f"{facts.address}  answers in {facts.round_trip.p50_s * 1000:.1f} ms  {counts or 'no failure'}{warning}"
