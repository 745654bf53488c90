"""The as-left report as plain text, and as PDF beside the job."""

import asyncio
from collections.abc import Iterable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from commission.face.job_file import read_job
from commission.face.report_file import contents_of, write_report
from commission.report.pdf import ReportError
from commission.report.text import as_text
from commission.terminal.frame import Frame
from commission.terminal.letters import ascii_only
from commission.terminal.widgets.lines import Key
from commission.terminal.widgets.page import Page, paragraph
from commission.visit import Visit
from commission.walk import route


class ReportScreen(Frame[None]):
    """The report of the open job as it stands."""

    DEFAULT_CSS = "ReportScreen #written { height: auto; max-height: 4; padding: 0 1; text-style: bold; }"
    own_keys: ClassVar[tuple[Key, ...]] = (Key("F", "PDF", 1), Key("Up/Down", "scroll", 2))
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f", "write", "write PDF", show=False),
        Binding("escape,b", "app.walk", "back", show=False),
    ]

    def body(self) -> Iterable[Widget]:
        """What was written where, then the text."""
        yield Static(id="written", markup=False)
        yield Page(id="report", drawing=self.shell.shows.drawing, classes="full")

    def on_mount(self) -> None:
        """Make the text beside the screen."""
        super().on_mount()
        page = self.query_one(Page)
        page.focus()
        page.show(lambda _width: ("making the report …",))
        self.say("F writes the report as PDF beside the job.")
        self.run_worker(self._make(), exclusive=True)

    def action_write(self) -> None:
        """Write the PDF beside the job."""
        self.say("writing …")
        self.run_worker(self._write(), exclusive=True)

    def say(self, sentence: str) -> None:
        """Say something above the text; nothing where somebody has left it meanwhile."""
        if not self.is_here:
            return
        text = "\n".join(paragraph(sentence, max(20, self.size.width - 2)))
        self.query_one("#written", Static).update(Content(text if self.shell.shows.drawing else ascii_only(text)))

    async def _make(self) -> None:
        visit = self.shell.desk.visit
        if visit is None:
            return
        read = await asyncio.to_thread(read_job, visit.path)
        text = await asyncio.to_thread(lambda: as_text(contents_of(read, interim=is_interim(visit))))
        if not self.is_here:
            return
        self.query_one(Page).show(lambda _width: text.splitlines())

    async def _write(self) -> None:
        visit = self.shell.desk.visit
        if visit is None:
            return
        out = visit.path.with_suffix(".pdf")
        try:
            read = await asyncio.to_thread(read_job, visit.path)
            await asyncio.to_thread(write_report, read, out, interim=is_interim(visit), paper="a4")
        except (ReportError, OSError) as error:
            self.say(f"No PDF was written: {error}")
            return
        self.say(f"Wrote {out}")


def is_interim(visit: Visit) -> bool:
    """Whether the walk is not over, so that the report can only be an interim one."""
    return route.current(visit.job) is not None
