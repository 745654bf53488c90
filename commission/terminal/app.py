"""
The app: owns the screens, the open visit's conversation, and the stop key.

While a motion is open the stop key is taken in `on_event`, before any screen, field or dialog sees it. The app never
owns a motion: it may crash, and the program's main still sends the safe end.
"""

import asyncio
import importlib
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, TypeVar

from textual import events
from textual.app import App
from textual.binding import Binding, BindingType
from textual.driver import Driver
from textual.filter import LineFilter
from textual.screen import Screen
from textual.widgets import Input

from commission.terminal.console import Console, console
from commission.terminal.desk import Desk
from commission.terminal.driver import never_waiting
from commission.terminal.frame import Frame
from commission.terminal.letters import PlainLetters
from commission.terminal.screens.jobs import JobsScreen
from commission.terminal.theme import DARK, GREY, LIGHT, THEMES

if TYPE_CHECKING:  # what a visit is made of is loaded after the first paint
    from commission.face.dialogue import Speaker
    from commission.terminal.auto import WatchedSpeaker
    from commission.terminal.conversation import Conversation
    from commission.terminal.screens.walk import WalkScreen
    from commission.terminal.speaker import AppSpeaker
    from commission.visit import Visit

T = TypeVar("T")

STOP = "space"
GAS = ("g", "G", "upper_g")
_SAID_S = 4.0
"""How long the stop field says what became of a stop, in wire time."""

_ALWAYS = ("ctrl+q", "ctrl+c")
"""What no walk by itself takes for a pause."""

SIDE_SCREENS = {
    "points": "PointsScreen",
    "isolation": "IsolationScreen",
    "temporary": "TemporaryScreen",
    "deviations": "DeviationsScreen",
    "sequence": "SequenceScreen",
    "report": "ReportScreen",
    "sign_off": "SignOffScreen",
    "meter": "MeterScreen",
}
"""Screens beside the walk: module in `screens` and class; imported on first use, for the sake of the first paint."""

AT_UNIT = ("at_unit", "AtUnitScreen")
"""Module and class of the screen that only a practice unit has."""


class CommissionApp(App[int]):
    """
    The keyboard app.

    Args:
        desk: Jobs, practice units and the open visit.

        shows: What the terminal can show; looked up where None.
    """

    CSS_PATH = Path(__file__).with_name("styles.tcss")
    ENABLE_COMMAND_PALETTE = False
    ESCAPE_TO_MINIMIZE = False
    TITLE = "commission"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("w", "walk", "walk", show=False),
        Binding("p", "side('points')", "points", show=False),
        Binding("l", "side('isolation')", "locks", show=False),
        Binding("t", "side('temporary')", "temporary", show=False),
        Binding("d", "side('deviations')", "deviations", show=False),
        Binding("v", "side('sequence')", "events", show=False),
        Binding("r", "side('report')", "report", show=False),
        Binding("e", "side('sign_off')", "sign-off", show=False),
        Binding("i", "side('meter')", "meter", show=False),
        Binding("h", "at_unit", "at the unit", show=False),
        Binding("c", "film_clock", "film clock", show=False),
        Binding("question_mark,f1", "help_page", "help", show=False),
        Binding("g", "gas", "GAS ALARM", show=False),
        Binding("s", "sun", "sun", show=False),
        Binding("q", "leave_job", "leave", show=False),
        Binding("ctrl+q,ctrl+c", "quit_safely", "quit", show=False, priority=True),
    ]

    def __init__(self, desk: Desk, shows: Console | None = None) -> None:
        super().__init__()
        self.desk = desk
        self.shows = shows or console()
        self.who = ""
        self._conversation: Conversation | None = None
        self._failure: Exception | None = None
        for theme in THEMES:
            self.register_theme(theme)
        self.theme = DARK.name if self.shows.colour else GREY.name
        self.stop_said = ""

    @property
    def conversation(self) -> "Conversation":
        """The open visit's, or that of the next one."""
        if self._conversation is None:
            from commission.terminal.conversation import Conversation  # noqa: PLC0415  # after the first paint

            self._conversation = Conversation(self)
        return self._conversation

    @property
    def walk(self) -> "WalkScreen":
        """The walk of the open visit."""
        return self.conversation.walk

    @property
    def speaker(self) -> "AppSpeaker":
        """Who speaks where somebody is at the keys."""
        return self.conversation.speaker

    def get_driver_class(self) -> type[Driver]:
        """The library's driver for this system, made never to wait for a terminal that holds its output or is gone."""
        return never_waiting(super().get_driver_class())

    def get_line_filters(self) -> Sequence[LineFilter]:
        """The library's own, and plain letters last where the console draws nothing else."""
        plain = () if self.shows.drawing else (PlainLetters(),)
        return (*super().get_line_filters(), *plain)

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Colours of our own words, for themes that do not name them."""
        return dict(DARK.variables)

    async def run_to_end(self) -> int:
        """
        Run until somebody quits; the status.

        Raises:
            Exception: what a screen failed with. The terminal is clean by then, and nothing of it was printed.
        """
        try:
            status = await self.run_async(mouse=False)
        finally:
            await self._end_conversation()
        if self._failure is not None:
            raise self._failure
        return status or 0

    def _fatal_error(self) -> None:
        """End without a traceback on somebody's screen; main says what happened and where the log is."""
        self._failure = self._exception
        self.desk.stop("program", "what is shown has failed")
        self._close_messages_no_wait()

    def on_mount(self) -> None:
        """Show the jobs; where a job is walked by itself, begin it."""
        self.push_screen(JobsScreen())
        if self.desk.by_itself is not None:
            self.run_worker(self.walk_by_itself(), exclusive=True)

    async def on_event(self, event: events.Event) -> None:
        """The stop key is taken here, before any screen, while a motion is open."""
        if isinstance(event, events.Key) and not event.is_forwarded and self._taken(event.key):
            event.stop()
            event.prevent_default()
            return
        await super().on_event(event)

    def _taken(self, key: str) -> bool:
        """Whether a key was for what moves, or for what walks by itself, and so for no screen."""
        if key == STOP and not self.desk.in_motion and self._on_the_walk() and self.walk.take_stop_key():
            return True
        if key == STOP and self._stop_key():
            return True
        if self.desk.in_motion and key in _ALWAYS:
            self.desk.stop(self.who or "the keyboard", "stop by Ctrl-C")
            return True
        if self.desk.in_motion and key in GAS and not self._takes_letters:
            self.action_gas()
            return True
        if self.watching and key not in _ALWAYS:
            self.watching.turn()
            return True
        return False

    def _on_the_walk(self) -> bool:
        return self._conversation is not None and self.screen is self._conversation.walk

    @property
    def watching(self) -> "WatchedSpeaker | None":
        """What walks by itself now; None where somebody is at the keys."""
        return None if self._conversation is None else self._conversation.watching

    @property
    def field_focused(self) -> bool:
        """Whether typed letters go into a field."""
        return isinstance(self.focused, Input) and self.watching is None

    @property
    def _takes_letters(self) -> bool:
        """Whether words are typed in answer to a running test, where G is a letter; SPACE stops all the same."""
        return isinstance(self.screen, Frame) and self.screen.takes_letters

    def become(self, visit: "Visit", text: str) -> None:
        """
        Somebody is at the keyboard from here.

        Raises:
            ValueError: no name.
        """
        from commission.terminal.conversation import become  # noqa: PLC0415  # after the first paint

        self.who = become(visit, text)

    async def start_job(self, sheet: Path, who: str, *, practice: bool, speed: float) -> None:
        """
        Start a job on a sheet; on a practice unit, which is started first.

        Raises:
            ContentError, RecordError, ValueError: as their names say.
        """
        if practice:
            await asyncio.to_thread(self.desk.practise, sheet, speed)  # seconds, in which nothing else may stand still
        wishes = self.desk.wishes if practice else None
        checklist = None if wishes is None else wishes.checklist
        visit = self.desk.begin(sheet, self.speaker, who.partition(",")[0].strip(), checklist)
        self.become(visit, who)
        self.pop_screen()
        self.enter_visit(visit)

    async def prepare_stroke(self) -> None:
        """A prepared job on a practice unit with the valve open, up to the confirmation of one closing stroke."""
        visit, self.who = await self.desk.prepare_stroke(self.speaker)
        self.enter_visit(visit)

    async def walk_by_itself(self) -> None:
        """A job on a practice unit that is walked while somebody watches."""
        if self.desk.by_itself is None:
            return
        prepared = await self.desk.by_itself(self.desk, self.speaker)
        self.who = prepared.by
        self.enter_visit(prepared.visit, self.conversation.by_itself(prepared))

    def enter_visit(self, visit: "Visit", speaker: "Speaker | None" = None) -> None:
        """Show the walk of a visit and begin its conversation, with whoever is at the keys where nobody else speaks."""
        with self._context():  # what a screen returns goes to where the task began, and that screen may be gone by then
            self.conversation.begin(visit, speaker)

    async def push_screen_wait_from_task(self, screen: Screen[T]) -> T | None:
        """Show a screen from a task that is no worker, and wait for what it returns."""
        done: asyncio.Future[T | None] = asyncio.get_running_loop().create_future()

        def returned(value: T | None) -> None:
            if not done.done():
                done.set_result(value)

        await self.push_screen(screen, callback=returned)
        return await done

    def action_walk(self) -> None:
        """Back to the walk; not while the valve moves."""
        while (
            self.desk.visit is not None
            and not self.desk.in_motion
            and self.screen is not self.walk
            and len(self.screen_stack) > 2
        ):
            self.pop_screen()

    def action_side(self, name: str) -> None:
        """Show one of the screens beside the walk; not while the valve moves."""
        if self.desk.visit is None or self.desk.in_motion:
            return
        self.action_walk()
        module = importlib.import_module(f"commission.terminal.screens.{name}")
        screen: Screen[Any] = getattr(module, SIDE_SCREENS[name])()
        self.push_screen(screen)

    def action_at_unit(self) -> None:
        """To the practice unit, also while its valve moves; never to a real one."""
        if self.desk.hands is None or self.watching is not None or type(self.screen).__name__ == AT_UNIT[1]:
            return
        if not self.desk.in_motion:
            self.action_walk()
        module = importlib.import_module(f"commission.terminal.screens.{AT_UNIT[0]}")
        screen: Screen[Any] = getattr(module, AT_UNIT[1])()
        self.push_screen(screen)

    def action_film_clock(self) -> None:
        """A large clock to be filmed with the stem, also while the valve moves: it sends nothing and stops nothing."""
        from commission.terminal.screens.film_clock import FilmClockScreen  # noqa: PLC0415  # after the first paint

        if not isinstance(self.screen, FilmClockScreen):
            self.push_screen(FilmClockScreen())

    def action_help_page(self) -> None:
        """Show what can be done here."""
        if self.desk.in_motion:
            return
        from commission.terminal.screens.help import HelpScreen  # noqa: PLC0415  # after the first paint

        if not isinstance(self.screen, HelpScreen):
            self.push_screen(HelpScreen())

    def action_gas(self) -> None:
        """GAS ALARM: stop, record, leave (safety rule R7)."""
        visit = self.desk.visit
        if visit is not None:
            visit.gas_alarm(self.who or "keyboard")
            self.action_walk()
            self.conversation.show_gas_alarm()

    def action_sun(self) -> None:
        """Between the dark ground and the one for sunlight."""
        if self.shows.colour:
            self.theme = LIGHT.name if self.theme == DARK.name else DARK.name

    async def action_leave_job(self) -> None:
        """Leave the job; it can be gone on with."""
        if self.desk.visit is not None and not self.desk.in_motion:
            await self.leave_visit("the visit was left")
            self.switch_screen(JobsScreen())

    async def action_quit_safely(self) -> None:
        """End the program; main sends the safe end where something moves."""
        if self.desk.stop(self.who or "the keyboard", "stop by Ctrl-C"):
            return
        self.exit(0)

    async def leave_visit(self, reason: str) -> None:
        """End the conversation and close the job safely."""
        await self._end_conversation()
        self.action_walk()
        await self.desk.leave(reason)
        self._conversation = None

    async def _end_conversation(self) -> None:
        if self._conversation is not None:
            await self._conversation.end()

    def _stop_key(self) -> bool:
        """Send the stop; whether the key was for it. A walk by itself ends with it."""
        watching = self.watching
        sent = self._send_stop()
        if watching is not None:
            watching.hand_over()
        return sent or watching is not None

    def _send_stop(self) -> bool:
        if self.desk.in_motion:
            self.desk.stop(self.who or "the keyboard", "stop key")
            self.conversation.stop_seen()
            return True
        visit = self.desk.visit
        if visit is None or visit.link is None or self.field_focused:
            return False
        self.run_worker(self._stop_at_rest(visit), group="stop")
        return True

    async def _stop_at_rest(self, visit: "Visit") -> None:
        """Send STOP without a motion from here, and say in the stop field what became of it."""
        from commission.terminal.conversation import stop_at_rest  # noqa: PLC0415  # after the first paint

        self.stop_said = " STOP is being sent"
        said = self.stop_said = await stop_at_rest(visit, self.who or "the keyboard")
        await asyncio.sleep(_SAID_S)
        if self.stop_said == said:
            self.stop_said = ""
