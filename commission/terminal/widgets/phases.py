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
                self._cut(f"{phase.id} {phase.name}", width - 7).ljust(width - 6) + f"{phase.done:>2}/{phase.of:<2}"
            )
            if step is not None and step.phase == phase.id:
                lines += [
                    self._cut(_line(job, one, step), width) for one in route.applicable(job) if one.phase == phase.id
                ]
        if step is not None and step.crosses:
            lines.append(self._cut(f"> {step.id} to {step.crosses}", width))
        self.update(Content("\n".join(lines)))

    def _cut(self, text: str, width: int) -> str:
        """The text in so many columns of this console; that something is missing is seen."""
        shown, more = for_console(self, text), for_console(self, "…")
        return shown if len(shown) <= width else f"{shown[: width - len(more)].rstrip()}{more}"


def _line(job: Job, one: Step, now: Step) -> str:
    mark = ">" if one.id == now.id else _mark(job, one)
    return f" {mark}{one.id} {one.title}"


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
