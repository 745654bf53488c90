"""The sequence of events: every bit that changed and every command, the newest first."""

from collections.abc import Iterable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from commission.job.sequence import InSequence, numbered
from commission.job.state import Job
from commission.report.display import date_text
from commission.report.sequence import order_words, time_words, within_words
from commission.terminal.frame import Frame
from commission.terminal.widgets.lines import Key
from commission.terminal.widgets.page import Line, Page, heading, paragraph

REFRESH_S = 1.0
"""How often it is looked whether something was added, in wire time."""

SHOWN_AT_MOST = 500
"""So many of the newest are drawn; the report and the export hold all."""


class SequenceScreen(Frame[None]):
    """What changed and what was sent, with what is known of the order."""

    own_keys: ClassVar[tuple[Key, ...]] = (Key("Up/Down", "scroll", 8),)
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,b", "app.walk", "back", show=False)]

    def body(self) -> Iterable[Widget]:
        """One page."""
        yield Page(id="sequence", drawing=self.shell.shows.drawing)

    def on_mount(self) -> None:
        """Draw what happened, and again when more has."""
        super().on_mount()
        self._drawn = -1
        self.query_one(Page).focus()
        self._draw()
        self.set_interval(REFRESH_S, self._draw)

    def _draw(self) -> None:
        visit = self.shell.desk.visit
        if visit is not None and len(visit.job.sequence) != self._drawn:
            job = visit.job
            self._drawn = len(job.sequence)
            self.query_one(Page).show(lambda width: sequence_lines(job, width))


def sequence_lines(job: Job, width: int) -> list[Line]:
    """The events, the newest first; what the order of two is not known by is said in words."""
    items = numbered(job.sequence)
    if not items:
        return [heading("Nothing has changed yet, and nothing was sent.")]
    lines: list[Line] = [heading(f"{len(items)} events, the newest first; UTC, and how far each time may be off")]
    day = date_text(job.begun_utc)
    for item in items[: -SHOWN_AT_MOST - 1 : -1]:
        lines += _lines(item, day, width)
    if len(items) > SHOWN_AT_MOST:
        lines += paragraph(f"{len(items) - SHOWN_AT_MOST} older ones are in the report and its export.", width)
    return lines


def _lines(item: InSequence, day: str, width: int) -> list[Line]:
    one = item.happening
    first = f"{item.number:>4} {time_words(one.at_utc, day)} ± {within_words(item):<8} "
    lines: list[Line] = [*paragraph(one.words, width, first)]
    undecided = order_words(item)
    return [*lines, *(paragraph(undecided, width, " " * 5) if undecided else [])]
