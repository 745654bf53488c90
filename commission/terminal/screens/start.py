"""Start a job: who, which sheet, then the walk. On a practice unit, the unit is started first, as its own process."""

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from commission.content import ContentError, checklists_folder
from commission.record.errors import RecordError
from commission.terminal.desk import sheet_of
from commission.terminal.frame import Frame
from commission.terminal.widgets.lines import Key

if TYPE_CHECKING:
    from commission.terminal.wish import Wishes


_FIRST = "xv-1101"
"""The plain spring-return unit, on which somebody starts to practise where they choose nothing else."""


class StartScreen(Frame[None]):
    """
    Name, then sheet.

    Args:
        practice: Whether a practice unit is started for it.
    """

    own_keys: ClassVar[tuple[Key, ...]] = (
        Key("Enter", "choose", 0),
        Key("F", "faults and scenarios", 2),
        Key("B", "back", 1),
    )
    with_sides = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave_field", "keys", show=False),
        Binding("b", "back", "back", show=False),
        Binding("f", "findings", "faults and scenarios", show=False),
    ]

    def __init__(self, *, practice: bool) -> None:
        super().__init__()
        self._practice = practice

    def body(self) -> Iterable[Widget]:
        """Who is at the keyboard, and the sheets."""
        title = "Practise on a unit of the invented station" if self._practice else "Start a job"
        yield Static(title, classes="title", markup=False)
        yield Static("Who is at the keyboard? Name, role (as: T. Placeholder, technician)", markup=False)
        yield Input(id="who")
        yield Static("Which unit? Its sheet:", markup=False)
        yield OptionList(id="sheets", markup=False)
        yield Static(id="wish", markup=False)
        yield Static(id="problem", markup=False)

    def on_mount(self) -> None:
        """List the sheets; the name comes first."""
        super().on_mount()
        listed = self.query_one("#sheets", OptionList)
        sheets = self.shell.desk.sheets()
        for path in sorted(sheets, key=_place_in_practice) if self._practice else sheets:
            listed.add_option(Option(Content(_line(path)), id=str(path)))
        listed.highlighted = 0
        who = self.query_one("#who", Input)
        who.value = self.shell.who
        self.lead_to(who)

    def keys_now(self) -> tuple[Key, ...]:
        """Faults and scenarios only where a practice unit is started."""
        return tuple(key for key in super().keys_now() if key.key != "F" or self._wishes is not None)

    def action_findings(self) -> None:
        """What the practice unit under the bar is to have."""
        from commission.terminal.screens.findings import FindingsScreen  # noqa: PLC0415  # only where it is asked for

        sheet = self._pointed_at
        if self._wishes is None or sheet is None:
            return
        try:
            tag = sheet_of(sheet).identity.tag
        except ContentError as error:
            self._say(str(error.problems[0]))
            return
        self.app.push_screen(FindingsScreen(tag, sheet, self._wishes), lambda _nothing: self._show_wish())

    @on(OptionList.OptionHighlighted, "#sheets")
    def pointed_at(self) -> None:
        """Say what this unit is to have."""
        self._show_wish()

    @property
    def _wishes(self) -> "Wishes | None":
        return self.shell.desk.wishes if self._practice else None

    @property
    def _pointed_at(self) -> Path | None:
        listed = self.query_one("#sheets", OptionList)
        return None if listed.highlighted is None else Path(str(listed.get_option_at_index(listed.highlighted).id))

    def _show_wish(self) -> None:
        sheet = self._pointed_at
        if self._wishes is not None and sheet is not None:
            wish = f"It will be: {self._wishes.of(sheet).words}. F chooses a scenario or faults."
            if self._wishes.checklist is not None:
                wish += f"\nOn your own checklist: {self._wishes.checklist.name}."
            self.query_one("#wish", Static).update(Content(wish))

    def action_leave_field(self) -> None:
        """Out of the field, to the sheets."""
        self.lead_to(self.query_one("#sheets", OptionList))

    def action_back(self) -> None:
        """Back to the jobs."""
        self.dismiss(None)

    @on(Input.Submitted, "#who")
    def named(self, event: Input.Submitted) -> None:
        """The name is given; now the sheet."""
        if event.value.strip():
            self.lead_to(self.query_one("#sheets", OptionList))

    @on(OptionList.OptionSelected, "#sheets")
    def chosen(self, event: OptionList.OptionSelected) -> None:
        """Start on this sheet."""
        name = self.query_one("#who", Input).value
        if not name.strip():
            self.lead_to(self.query_one("#who", Input))
            return
        self.run_worker(self._start(Path(str(event.option.id)), name), exclusive=True)

    async def _start(self, sheet: Path, name: str) -> None:
        self._say("Starting the practice unit …" if self._practice else "")
        speed = self.shell.desk.practice_speed
        try:
            await self.shell.start_job(sheet, name, practice=self._practice, speed=speed)
        except (ContentError, RecordError, ValueError, OSError, RuntimeError) as error:  # the last: no such unit served
            self._say(str(error))

    def _say(self, words: str) -> None:
        if self.is_here:
            self.query_one("#problem", Static).update(Content(words))


def _place_in_practice(path: Path) -> tuple[bool, bool]:
    """The unit that the command line takes first, then those with a practice story, the rest in their own order."""
    return path.stem != _FIRST, not (checklists_folder() / "practice" / f"{path.stem}.toml").exists()


def _line(path: Path) -> str:
    try:
        sheet = sheet_of(path)
    except ContentError as error:
        return f"{path.name:<20} cannot be used: {error.problems[0]}"
    identity = sheet.identity
    return f"{identity.tag:<10} {identity.service:<28} serial {identity.serial:<12} revision {sheet.revision}"
