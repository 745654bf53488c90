"""Sign-off: what still stands against signing, each with what settles it, and who has signed."""

from collections.abc import Iterable
from datetime import datetime
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from commission.job.state import Job
from commission.terminal.frame import Frame
from commission.terminal.widgets.lines import Key
from commission.terminal.widgets.page import Line, Page, heading, paragraph
from commission.walk.sign_off import blockers


class SignOffScreen(Frame[None]):
    """Whether the job may be signed."""

    own_keys: ClassVar[tuple[Key, ...]] = (Key("Up/Down", "scroll", 2),)
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,b", "app.walk", "back", show=False)]

    def body(self) -> Iterable[Widget]:
        """One page."""
        yield Page(id="sign-off", drawing=self.shell.shows.drawing)

    def on_mount(self) -> None:
        """Draw what stands against signing now."""
        super().on_mount()
        page = self.query_one(Page)
        page.focus()
        visit = self.shell.desk.visit
        if visit is not None:
            job, now = visit.job, visit.clock.utc()
            page.show(lambda width: sign_off_lines(job, now, width))


def sign_off_lines(job: Job, now: datetime, width: int) -> list[Line]:
    """What blocks, the most dangerous first, with what settles it; then who has signed what."""
    against = blockers(job, now)
    count = f"{len(against)} {'thing blocks' if len(against) == 1 else 'things block'} signing"
    lines: list[Line] = [heading(count if against else "Nothing stands against signing.")]
    for refusal in against:
        lines += paragraph(refusal.reason, width, "  - ", "    ")
        lines += paragraph(refusal.instead, width, "      > ", "        ") if refusal.instead else []
    signatures = job.register.signatures
    lines += ["", heading(f"Signed: {len(signatures)}" if signatures else "Nobody has signed.")]
    for one in signatures:
        signed = one.signed
        lines += paragraph(f"{one.by}, {signed.role}, {one.at_utc[11:16]} UTC, {signed.how}", width, "  ")
        lines += paragraph(signed.statement, width, " " * 6)
    lines += ["", *paragraph("People sign in the walk, each their own statement, at the step for it (W).", width)]
    return lines
