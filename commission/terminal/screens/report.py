"""The as-left report as plain text, and as PDF beside the job."""

import asyncio
from collections.abc import Iterable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from commission.face.job_file import read_job
from commission.face.report_file import contents_of, write_report
from commission.report.text import as_text
from commission.terminal.frame import Frame
from commission.terminal.widgets.lines import Key
from commission.walk import route


class ReportScreen(Frame[None]):
    """The report of the open job as it stands."""

    own_keys: ClassVar[tuple[Key, ...]] = (Key("F", "write PDF", 1),)
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f", "write", "write PDF", show=False),
        Binding("escape,b", "app.walk", "back", show=False),
    ]

    def body(self) -> Iterable[Widget]:
        """The text, scrolled."""
        with VerticalScroll(can_focus=True):
            yield Static("making the report …", id="report", markup=False)

    def on_mount(self) -> None:
        """Make the text beside the screen."""
        super().on_mount()
        self.run_worker(self._make(), exclusive=True)

    def action_write(self) -> None:
        """Write the PDF beside the job."""
        self.run_worker(self._write(), exclusive=True)

    async def _make(self) -> None:
        visit = self.shell.desk.visit
        if visit is None:
            return
        read = await asyncio.to_thread(read_job, visit.path)
        text = as_text(contents_of(read, interim=route.current(visit.job) is not None))
        self.query_one("#report", Static).update(Content(text))
        self.query_one(VerticalScroll).focus()

    async def _write(self) -> None:
        visit = self.shell.desk.visit
        if visit is None:
            return
        out = visit.path.with_suffix(".pdf")
        interim = route.current(visit.job) is not None
        read = await asyncio.to_thread(read_job, visit.path)
        await asyncio.to_thread(write_report, read, out, interim=interim, paper="a4")
        self.query_one("#report", Static).update(Content(f"wrote {out}"))
