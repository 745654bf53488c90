"""Isolation: who holds which lock, each trapped volume with its gauge and bleed, and the evidence so far."""

from collections.abc import Iterable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from commission import energy
from commission.job.state import Job
from commission.terminal.frame import Frame


class IsolationScreen(Frame[None]):
    """Locks and volumes of the open job."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,b", "app.walk", "back", show=False)]

    def body(self) -> Iterable[Widget]:
        """One list."""
        visit = self.shell.desk.visit
        text = "" if visit is None else "\n".join(isolation_lines(visit.job))
        with VerticalScroll(can_focus=True):
            yield Static(Content(text), id="isolation", markup=False)


def isolation_lines(job: Job) -> list[str]:
    """Locks, volumes, and what the crossing under way still needs."""
    now = job.energy_log.now
    lines = [f"Energy state: {now.state}{f', crossing to {now.target}' if now.target else ''}", "", "Sources and locks"]
    for source in job.sheet.sources:
        lock = now.locks.get(source.id)
        held = f"lock {lock.number}, {lock.by}, {lock.at_utc[11:16]}" if lock else "no lock"
        lines.append(f"  {source.name[:34]:<35}{source.device[:22]:<23}{held}"[:78])
    lines += ["", "Trapped volumes (a gauge at zero is not zero energy)"]
    for volume in job.sheet.volumes:
        lines.append(f"  {volume.name[:26]:<27}{_volume(job, volume.id, volume.kind, volume.gauge, volume.bleed)}"[:78])
    needs = energy.missing(now, job.sheet)
    if needs:
        lines += ["", f"Still missing ({len(needs)})"]
        lines += [f"  {need.words}"[:78] for need in needs[:8]]
    return lines


def _volume(job: Job, name: str, kind: str, gauge: str, bleed: str) -> str:
    if kind != "oil":
        return "contained, still loaded"
    facts = [fact for fact in job.energy_log.now.facts if fact.subject == name]
    said = f"{facts[-1].fact} {facts[-1].details.get('bar', '')} bar" if facts else "no reading in this crossing"
    return f"gauge {gauge}, bleed {bleed}: {said}"
