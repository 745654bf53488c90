"""The phases of the walk at the left, and the steps of the one that is walked now."""

from textual.content import Content
from textual.widgets import Static

from commission.checklist import Step
from commission.job.state import Job
from commission.terminal.letters import for_console
from commission.walk import route


class Phases(Static):
    """How far each phase has come; the steps of the current one beneath it."""

    def show(self, job: Job, step: Step | None, width: int = 0) -> None:
        """Draw the phases of a job, in `width` columns where they are about to change."""
        width = width or max(10, self.content_size.width or 21)
        lines = []
        for phase in route.progress(job):
            lines.append(
                _cut(f"{phase.id} {phase.name}", width - 7).ljust(width - 6) + f"{phase.done:>2}/{phase.of:<2}"
            )
            if step is not None and step.phase == phase.id:
                lines += [_line(job, one, step, width) for one in route.applicable(job) if one.phase == phase.id]
        if step is not None and step.crosses:
            lines.append(_cut(f"> {step.id} to {step.crosses}", width))
        self.update(Content(for_console(self, "\n".join(lines))))


def _cut(text: str, width: int) -> str:
    """The text in so many columns; that something is missing is seen."""
    return text if len(text) <= width else f"{text[: width - 1].rstrip()}…"


def _line(job: Job, one: Step, now: Step, width: int) -> str:
    mark = ">" if one.id == now.id else _mark(job, one)
    return _cut(f" {mark}{one.id} {one.title}", width)


def _mark(job: Job, step: Step) -> str:
    state = job.steps.get(step.id)
    last = None if state is None else state.last
    if last is None:
        return " "
    if last.voided_by:
        return "!"
    if not last.verdict:
        return "~"
    return "+" if last.verdict.startswith("pass") else "-"
