"""The jobs on this laptop: go on with one, re-test from one, start one, practise, or make one stroke."""

from collections.abc import Iterable
from typing import ClassVar

from textual import on
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widget import Widget
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from commission.terminal.desk import JobFound
from commission.terminal.frame import Frame
from commission.terminal.widgets.lines import Key

_INTRODUCTION = (
    "Commissioning assistant for electro-hydraulic valve actuators. NOT A SAFETY SYSTEM: site procedure, permits, "
    "local codes and licensed people win over anything it says."
)

_WITH_A_JOB = """\
Enter   go on with the job that the bar stands on
T       re-test its unit, in a new job beside it
L       rerun its partial stroke against its baseline, in a new job"""

_WITHOUT_A_JOB = """\
N       start a job at a unit
P       practise: the whole walk at a practice unit, no hardware needed
O       practise one closing stroke, prepared up to its confirmation"""

_RESUMING = "Going on with a job begins with its energy state UNKNOWN: prove it again before hands or commands."

AFTER_PAINT_S = 0.05
"""Three frames of the library: what follows reads files and loads what a visit is made of, 0.2 s for both."""


class JobsScreen(Frame[None]):
    """The first screen."""

    own_keys: ClassVar[tuple[Key, ...]] = (
        Key("N", "new job", 1),
        Key("P", "practise", 2),
        Key("O", "one stroke", 2),
        Key("S", "sun", 5),
        Key("?", "help", 2),
        Key("Ctrl-Q", "quit", 1),
    )
    of_a_job: ClassVar[tuple[Key, ...]] = (
        Key("Enter", "go on", 0),
        Key("T", "re-test", 3),
        Key("L", "partial stroke", 3),
    )
    with_sides = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("n", "new", "new job", show=False),
        Binding("p", "practise", "practise", show=False),
        Binding("o", "one_stroke", "one stroke", show=False),
        Binding("t", "again('retest.toml')", "re-test", show=False),
        Binding("l", "again('partial-stroke.toml')", "partial stroke", show=False),
    ]

    CSS = """
    JobsScreen #body { padding: 0 1; }
    JobsScreen .title { padding: 1 0 0 0; height: 2; }
    JobsScreen Static { height: auto; }
    JobsScreen #problem, JobsScreen #acts { padding: 1 0 0 0; max-height: 8; }
    """

    def __init__(self) -> None:
        super().__init__()
        self._found: tuple[JobFound, ...] = ()

    def body(self) -> Iterable[Widget]:
        """What it is, then the jobs."""
        yield Static(_INTRODUCTION, markup=False)
        yield Static("Jobs on this laptop", classes="title", markup=False)
        yield OptionList(id="jobs", markup=False)
        yield Static(id="about", markup=False)
        yield Static(id="problem", markup=False)
        yield Static(_WITHOUT_A_JOB, id="acts", markup=False)

    def on_mount(self) -> None:
        """Look for jobs, but not before somebody sees the screen: each file is read whole."""
        super().on_mount()
        self.query_one("#jobs", OptionList).add_option(Option("looking ...", disabled=True))
        self.call_after_refresh(self.set_timer, AFTER_PAINT_S, self.look)

    def letter_keys(self) -> tuple[Key, ...]:
        """What needs a job only where there is one to point at."""
        return (*self.of_a_job, *self.own_keys) if any(not job.trouble for job in self._found) else self.own_keys

    def look(self) -> None:
        """List the jobs in the folder; what is known of the one the bar stands on is said below."""
        if not self.is_here:
            return
        jobs = self._found = self.shell.desk.jobs()
        listed = self.query_one("#jobs", OptionList)
        listed.clear_options()
        for job in jobs:
            listed.add_option(Option(Content(_line(job)), id=str(job.path), disabled=bool(job.trouble)))
        if not jobs:
            listed.add_option(Option(f"none yet in {self.shell.desk.folder}", disabled=True))
        if any(not job.trouble for job in jobs):
            listed.highlighted = next(place for place, job in enumerate(jobs) if not job.trouble)
            self.query_one("#acts", Static).update(f"{_WITH_A_JOB}\n{_WITHOUT_A_JOB}")
        listed.focus()
        self.draw_lines()

    @on(OptionList.OptionHighlighted, "#jobs")
    def pointed_at(self, event: OptionList.OptionHighlighted) -> None:
        """Say in what state the job was left."""
        job = next((job for job in self._found if str(job.path) == event.option.id), None)
        words = "" if job is None or job.trouble else f"{job.path.name}: {job.left}. {_RESUMING}"
        self.query_one("#about", Static).update(Content(words))

    @on(OptionList.OptionSelected, "#jobs")
    def chosen(self, event: OptionList.OptionSelected) -> None:
        """Go on with a job."""
        if event.option.id is None:
            return
        from commission.terminal.job_files import TROUBLE  # noqa: PLC0415  # after the first paint

        path = next(job.path for job in self._found if str(job.path) == event.option.id)
        try:
            visit = self.shell.desk.resume(path, self.shell.speaker)
        except TROUBLE as error:
            self.query_one("#problem", Static).update(Content(str(error)))
            return
        self.shell.enter_visit(visit)

    def action_again(self, checklist: str) -> None:
        """Begin a re-test from the job that the bar stands on, in a new job beside it."""
        from commission.terminal.job_files import TROUBLE  # noqa: PLC0415  # after the first paint

        listed = self.query_one("#jobs", OptionList)
        place = listed.highlighted
        if place is None or place >= len(self._found) or self._found[place].trouble:
            self.query_one("#problem", Static).update("Point at the job of the earlier visit first.")
            return
        try:
            visit = self.shell.desk.again(self._found[place].path, self.shell.speaker, checklist)
        except TROUBLE as error:
            self.query_one("#problem", Static).update(Content(str(error)))
            return
        self.shell.enter_visit(visit)

    def action_new(self) -> None:
        """Start a job on a real unit."""
        self._start(practice=False)

    def action_practise(self) -> None:
        """Start a job on a practice unit."""
        self._start(practice=True)

    def action_one_stroke(self) -> None:
        """A prepared job on a practice unit, valve open: one timed closing stroke."""
        self.run_worker(self.shell.prepare_stroke(), exclusive=True)

    def _start(self, *, practice: bool) -> None:
        from commission.terminal.screens.start import StartScreen  # noqa: PLC0415  # after the first paint

        self.app.push_screen(StartScreen(practice=practice))


def _line(job: JobFound) -> str:
    if job.trouble:
        return f"{job.path.name:<34} cannot be read: {job.trouble}"
    kind = "PRACTICE" if job.practice else "        "
    state = "signed" if job.signed else "open"
    return f"{job.tag:<10} {job.service[:26]:<26} {kind} {state:<7} {job.last_utc[:16].replace('T', ' ')} UTC"
