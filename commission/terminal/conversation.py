"""
The open visit in the app: its walk screen, who speaks, and the task that asks.

Apart from the app because it needs all that a visit is made of, which the first paint does not wait for; the app makes
it when a visit is opened, never in a motion.
"""

import asyncio
from typing import TYPE_CHECKING

from commission.face.dialogue import Left, Speaker, walk
from commission.job.bodies import PersonAdded
from commission.record.errors import RecordError
from commission.terminal.auto import ByItself, WatchedSpeaker
from commission.terminal.screens.motion import MotionScreen
from commission.terminal.screens.walk import WalkScreen
from commission.terminal.speaker import AppSpeaker
from commission.visit import Visit

if TYPE_CHECKING:
    from commission.terminal.app import CommissionApp


class Conversation:
    """
    What is asked about one visit, and who answers.

    Args:
        app: The app.
    """

    def __init__(self, app: "CommissionApp") -> None:
        self._app = app
        self.walk = WalkScreen()
        self.speaker = AppSpeaker(app)
        self.watched: WatchedSpeaker | None = None
        self.task: asyncio.Task[None] | None = None

    @property
    def watching(self) -> WatchedSpeaker | None:
        """What walks by itself now; None where somebody is at the keys."""
        return self.watched if self.watched is not None and self.watched.walking else None

    def begin(self, visit: Visit, speaker: Speaker | None = None) -> None:
        """Begin to ask whoever is at the keys, where nobody else speaks."""
        self.task = asyncio.get_running_loop().create_task(self._converse(visit, speaker or self.speaker))

    def by_itself(self, prepared: ByItself) -> Speaker:
        """Who speaks in a walk by itself."""
        self.watched = WatchedSpeaker(self._app, prepared.crew, prepared.pace_s)
        return self.watched

    async def end(self) -> None:
        """Nothing more is asked, of people or of a meter."""
        self.speaker.take_meter(None)
        task, self.task = self.task, None
        if task is not None:
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)

    def show_gas_alarm(self) -> None:
        """What to do now, on the running test and on the walk."""
        for screen in self._running_tests():
            screen.show_gas_alarm()
        self.walk.show_gas_alarm()

    def stop_seen(self) -> None:
        """Whoever pressed the stop key sees at once that it was taken."""
        for screen in self._running_tests():
            screen.stop_seen()

    def _running_tests(self) -> list[MotionScreen]:
        return [screen for screen in self._app.screen_stack if isinstance(screen, MotionScreen)]

    async def _converse(self, visit: Visit, speaker: Speaker) -> None:
        await self._app.switch_screen(self.walk)
        visit.keep_reading()
        try:
            if speaker is self.speaker:
                await self.walk.check_stop_key()
            await walk(visit, speaker)
        except Left as left:
            self.walk.show_problem(str(left))
            return
        except Exception as error:  # noqa: BLE001  # a failed conversation is a failed screen
            self._app._handle_exception(error)  # noqa: SLF001  # the library has no public word for it
            return
        self.walk.show_end(visit)
        if self.watching is not None:
            self.watching.finish()
            self._app.action_side("report")


def become(visit: Visit, text: str) -> str:
    """
    Somebody is at the keyboard from here; their name.

    Raises:
        ValueError: no name.
    """
    name, _, role = text.partition(",")
    name = name.strip()
    if not name:
        raise ValueError("name and role, as: T. Placeholder, technician")
    visit.record(PersonAdded(name=name, role=role.strip() or "on site"), name)
    return name


async def stop_at_rest(visit: Visit, by: str) -> str:
    """Send STOP although no motion is open from here; what became of it, for the stop field."""
    try:
        answered = await visit.send_stop(by)
    except (RecordError, ValueError, LookupError) as error:
        return f" STOP: {error}"
    if answered:
        return " STOP sent and answered; it counts only when the stem is seen at rest"
    return f" STOP NOT ANSWERED. Stay clear. Local: {visit.job.sheet.behaviour.local_stop}"
