"""The points of the unit now: engineering value beside the raw registers, age, and the health of the line in words."""

from collections.abc import Iterable
from typing import ClassVar

import msgspec
from textual.binding import Binding, BindingType
from textual.widget import Widget

from commission.clock import NS_PER_S
from commission.face.reading_words import reading_words
from commission.sheet import ROLES
from commission.sheet.decode import Reading
from commission.sheet.points import Point
from commission.terminal.frame import Frame
from commission.terminal.letters import ascii_only
from commission.terminal.widgets.lines import Key
from commission.terminal.widgets.page import Line, Page, clipped, paragraph
from commission.visit import Visit

REFRESH_S = 0.5
OLD_S = 5.0
"""Wire seconds after which a reading is struck out (safety rule R18)."""

NOW, UNIT, RAW, AGE = 15, 6, 10, 9

_FAULTS = {
    "NoAnswer": "not answered",
    "Overtaken": "dropped for a stop",
    "BadAnswer": "answered wrongly",
    "NotConnected": "while not connected",
    "UnitRefused": "refused by the unit",
    "WrongUnit": "answered by another unit",
    "WriteRefused": "not sent: no leave",
}


class Row(msgspec.Struct, frozen=True):
    """One point as it is shown; `old` where its value may not be believed."""

    label: str
    now: str
    unit: str
    raw: str
    age: str
    place: str
    old: bool = False


class PointsScreen(Frame[None]):
    """All points, read again and again."""

    DEFAULT_CSS = "PointsScreen #health { height: auto; max-height: 6; }"
    own_keys: ClassVar[tuple[Key, ...]] = (Key("Up/Down", "scroll", 2),)
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,b", "app.walk", "back", show=False)]

    def body(self) -> Iterable[Widget]:
        """Health and the head of the table stay, the table scrolls."""
        yield Page(id="health", drawing=self.shell.shows.drawing)
        yield Page(id="points", drawing=self.shell.shows.drawing)

    def on_mount(self) -> None:
        """Begin to draw."""
        super().on_mount()
        self.query_one("#health", Page).can_focus = False
        self.query_one("#points", Page).focus()
        self.draw()
        self.set_interval(REFRESH_S, self.draw)

    def draw(self) -> None:
        """Draw what was read last."""
        visit = self.shell.desk.visit
        if visit is None:
            return
        health, table = health_words(visit), rows(visit)
        if not self.shell.shows.drawing:  # before columns are made: a sign may become several letters
            table = [msgspec.structs.replace(row, unit=ascii_only(row.unit).strip()) for row in table]
        self.query_one("#health", Page).show(
            lambda width: [line for words in health for line in paragraph(words, width)] + [head(width)]
        )
        self.query_one("#points", Page).show(lambda width: [row_line(row, width) for row in table])


def health_words(visit: Visit) -> tuple[str, ...]:
    """How the line is, in sentences; what may not be believed comes first."""
    link = visit.link
    if link is None:
        return ("No line to the unit: nothing here is read now. The walk asks for the line (W).",)
    health, facts = link.health, link.facts
    sentences = []
    struck = health.struck_out(visit.clock.unit_ns())
    if not visit.job.contact.up:
        sentences.append(f"NO CONTACT: {visit.job.contact.reason}. The values below are old.")
    elif struck:
        sentences.append(f"NOT TO BE BELIEVED: {struck}.")
    answered = health.counts.get("answered", 0)
    failed = [
        f"{number} {_FAULTS.get(kind, 'failed')}"
        for kind, number in sorted(health.counts.items())
        if kind != "answered"
    ]
    latency = health.latency
    typical_s = facts.round_trip.p50_s if latency is None else latency.p50_s
    slowest_s = facts.round_trip.p99_s if latency is None else latency.p99_s
    sentences.append(
        f"{facts.address} answers in {typical_s * 1000:.1f} ms, 99 of 100 within {slowest_s * 1000:.0f} ms. "
        f"{answered} requests answered{', ' if failed else ', none failed'}{', '.join(failed)}."
    )
    if visit.latest is None:
        sentences.append("Nothing is read beside the walk now.")
    return tuple(sentences)


def rows(visit: Visit) -> list[Row]:
    """Every point of the sheet that can be read, as it was read last; one without a number says so."""
    latest = visit.latest
    if latest is None:
        return []
    found = []
    for point in visit.job.sheet.points:
        if point.role not in latest.places:
            continue
        reading = latest.readings.get(point.role)
        found.append(_row(visit, point, reading, latest.raw(point), latest.readings.at_ns))
    return found


def _row(visit: Visit, point: Point, reading: Reading | None, raw: str, sampled_ns: int) -> Row:
    at_ns = sampled_ns if reading is None else reading.at_ns
    age_s = max(0.0, (visit.clock.unit_ns() - at_ns) / NS_PER_S / visit.clock.speed)
    old = age_s > OLD_S or not visit.job.contact.up
    value, unit = ("no number", "") if reading is None else reading_words(reading.value, point.role)
    age = f"OLD {_span(age_s)}" if old else f"{age_s:.1f} s"
    place = f"{str(point.table).replace('_', ' ')} {point.address}"
    return Row(ROLES[point.role].label, value, unit, raw, age, place, old)


def head(width: int) -> Line:
    """The head of the table."""
    return ((row_text(Row("point", "now", "", "raw", "age", "where" if width >= 100 else ""), width), "bold"),)


def row_line(row: Row, width: int) -> Line:
    """A row; an old value is struck out, and its age says that it is old."""
    text = row_text(row, width)
    if not row.old:
        return text
    before = _label_width(width)
    value = text[before : before + NOW].rstrip()
    return ((text[:before], ""), (value, "strike"), (text[before + len(value) :], ""))


def row_text(row: Row, width: int) -> str:
    """A row as plain text; where there is room, with the place of the point in the unit's own list."""
    cells = ((row.label, _label_width(width)), (row.now, NOW), (row.unit, UNIT), (row.raw, RAW), (row.age, AGE))
    text = "".join(f"{clipped(cell, room - 1):<{room}}" for cell, room in cells)
    return (f"{text} {row.place}" if width >= 100 else text).rstrip()


def _label_width(width: int) -> int:
    return width - (NOW + UNIT + RAW + AGE) - (26 if width >= 100 else 0)


def _span(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 100 else f"{seconds / 60:.0f} min"
