"""Isolation: who holds which lock, each trapped volume with its gauge and bleed, and the evidence so far."""

from collections.abc import Iterable, Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from commission import energy
from commission.job.state import Job
from commission.sheet.model import Volume
from commission.terminal.frame import Frame
from commission.terminal.widgets.lines import Key
from commission.terminal.widgets.page import Line, Page, heading, paragraph, visible
from commission.walk.state_line import state_line

REDRAW_S = 1.0


class IsolationScreen(Frame[None]):
    """Locks and volumes of the open job."""

    own_keys: ClassVar[tuple[Key, ...]] = (Key("Up/Down", "scroll", 2),)
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,b", "app.walk", "back", show=False)]

    def body(self) -> Iterable[Widget]:
        """One page."""
        yield Page(id="isolation", drawing=self.shell.shows.drawing)

    def on_mount(self) -> None:
        """Draw, and draw again: a lock may be recorded by somebody else's word meanwhile."""
        super().on_mount()
        self.query_one(Page).focus()
        self.draw()
        self.set_interval(REDRAW_S, self.draw)

    def draw(self) -> None:
        """Draw locks and volumes as they are now."""
        visit = self.shell.desk.visit
        if visit is not None:
            job = visit.job
            self.query_one(Page).show(lambda width: isolation_lines(job, width))


def isolation_lines(job: Job, width: int) -> list[Line]:
    """What comes next, who holds which lock, each volume, and all that the crossing under way still needs."""
    now = job.energy_log.now
    needs = () if now.target is None else energy.missing(now, job.sheet)
    lines: list[Line] = [((line, "bold"),) for line in paragraph(state_line(job), width)]
    if needs:
        lines += paragraph(f"Next for {now.target}: {needs[0].words}. {len(needs)} still missing, below.", width)
    lines += ["", *_locks(job, width), "", *_volumes(job, width)]
    if needs:
        lines += ["", heading(f"Still missing for {now.target}: {len(needs)}")]
        lines += [line for need in needs for line in paragraph(need.words, width, "  - ", "    ")]
    return lines


def _locks(job: Job, width: int) -> list[Line]:
    locks = job.energy_log.now.locks
    lines: list[Line] = [heading(f"Locks: {len(locks)} on, {len(job.sheet.sources)} sources")]
    rows = []
    for source in job.sheet.sources:
        lock = locks.get(source.id)
        held = f"lock {lock.number}, {lock.by}, {lock.at_utc[11:16]} UTC" if lock else "no lock"
        rows.append((f"{source.name} ({source.device})", held))
    return [*lines, *beside(rows, width)]


def beside(rows: Sequence[tuple[str, str]], width: int) -> list[str]:
    """What a thing is, and beside it how it stands; under it where most of a line would be needed."""
    column = max((len(visible(stands)) for _, stands in rows), default=0)
    lines: list[str] = []
    for name, stands in rows:
        if column > width // 2:
            lines += [*paragraph(name, width, "  ", "    "), *paragraph(stands, width, " " * 8)]
            continue
        first, *rest = paragraph(name, width - column - 2, "  ", "    ")
        lines += [f"{first:<{width - column}}{visible(stands)}", *rest]
    return lines


def _volumes(job: Job, width: int) -> list[Line]:
    lines: list[Line] = [heading("Trapped volumes (a gauge at zero is not zero energy)")]
    rows = []
    for volume in job.sheet.volumes:
        means = [f"{name} {what}" for name, what in (("gauge", volume.gauge), ("bleed", volume.bleed)) if what]
        rows.append((f"{volume.name}{': ' if means else ''}{', '.join(means)}", _last_word(job, volume)))
    return [*lines, *beside(rows, width)]


def _last_word(job: Job, volume: Volume) -> str:
    """The last thing that was seen of a volume, in this crossing or an earlier one, with whose word and when."""
    if volume.kind != "oil":
        return "contained, still loaded"
    log = job.energy_log
    facts = [fact for crossed in log.crossed for fact in crossed.facts if fact.subject == volume.id]
    now = [fact for fact in log.now.facts if fact.subject == volume.id]
    if not facts and not now:
        return "no reading yet: take it as loaded"
    fact = (now or facts)[-1]
    bar = fact.details.get("bar")
    reading = "" if bar is None else f" {bar} bar"
    read_on = fact.details.get("read_on")
    means = f" on {read_on}" if read_on else ""
    old = "" if now else ", in an earlier crossing"
    return f"{fact.fact}{reading}{means}, {fact.by}, {fact.at_utc[11:16]} UTC{old}"
