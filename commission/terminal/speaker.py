"""
The speaker of the app: the conversation of the walk, asked through the walk screen.

The conversation is a task beside the screens. It waits for what the walk screen hands over; a request made on another
screen (something temporary, a deviation) wakes it, and it looks at the walk again.
"""

import asyncio
from typing import TYPE_CHECKING

from commission.checklist import Step
from commission.face.dialogue import Reply
from commission.face.metered import Metered
from commission.link.meter import Meter
from commission.procedures.requests import Answer
from commission.procedures.requests import Ask as ProcedureAsk
from commission.terminal.question import AtTheKeys, OpenQuestion
from commission.terminal.screens.at_unit import AtUnitScreen
from commission.terminal.screens.connect import ConnectScreen
from commission.terminal.screens.motion import MotionScreen
from commission.terminal.screens.result import ResultScreen
from commission.terminal.screens.wiring import WiringScreen, only_looks
from commission.visit import Visit
from commission.walk.prompts import Prompt
from commission.walk.refusal import Refusal

if TYPE_CHECKING:
    from commission.terminal.app import CommissionApp


class AppSpeaker:
    """
    Asks through the screens.

    Args:
        app: The app.
    """

    def __init__(self, app: "CommissionApp") -> None:
        self._app = app
        self.at_keys = AtTheKeys(app.bell)
        self.meter: Meter | None = None
        """What says its own readings; None where they are typed."""

    @property
    def question(self) -> OpenQuestion | None:
        """What the procedure of the open test asks now."""
        return self.at_keys.question

    def step(self, visit: Visit, step: Step) -> None:
        """Show a step on the walk screen."""
        self._app.walk.show_step(visit, step)

    def refused(self, step: Step, refusal: Refusal) -> None:
        """Show why it may not go on."""
        self._app.walk.show_refusal(step, refusal)

    def problem(self, sentence: str) -> None:
        """Show what was not taken; the same is asked again."""
        self._app.walk.show_problem(sentence)

    def concluded(self, visit: Visit, step: Step) -> None:
        """Show the verdict."""
        self._app.walk.show_verdict(visit, step)

    async def reply(self, visit: Visit, step: Step, prompt: Prompt) -> Reply | None:
        """What is answered on the walk screen; None where something else was done."""
        return await self._app.walk.ask(visit, step, prompt)

    async def unblock(self, visit: Visit, step: Step) -> None:
        """Wait until something was done about a refusal."""
        await self._app.walk.wait_for_act(visit, step)

    async def line_needed(self, visit: Visit) -> None:
        """
        Open the line, or wait until the unit answers again.

        Raises:
            Left: somebody leaves instead.
        """
        connected = await self._app.push_screen_wait_from_task(ConnectScreen(visit))
        visit.keep_reading()
        if not connected:
            await self._app.walk.wait_for_act(visit, None)

    async def moving(self, visit: Visit, running: "asyncio.Task[object]") -> None:
        """Show the motion until it has ended, then its result until that was read."""
        screen = WiringScreen(visit) if only_looks(visit) else MotionScreen(visit)
        await self._app.push_screen(screen)
        await asyncio.wait({running})
        await self._hands_back(visit)
        while screen in self._app.screen_stack and self._app.screen is not screen:
            await self._app.pop_screen()  # whatever was put over it goes first, or it would stay for ever
        if self._app.screen is screen:
            await self._app.pop_screen()
        runs = list(visit.job.runs.values())
        if runs and runs[-1].results:
            await self._app.push_screen_wait_from_task(ResultScreen(visit, runs[-1]))

    async def _hands_back(self, visit: Visit) -> None:
        """A test that ended by itself leaves whoever works at the practice unit there until their hands are back."""
        top, runs = self._app.screen, list(visit.job.runs.values())
        ended = runs[-1].ended if runs else None
        if isinstance(top, AtUnitScreen) and ended is not None and ended.how == "finished":
            await top.left.wait()

    async def ask(self, question: ProcedureAsk) -> Answer:
        """A procedure's own question: the running test shows it until it is answered, or the test has ended."""
        if self._app.watching is not None:
            return await self._app.watching.ask(question)
        return await self.ask_person(question)

    async def ask_person(self, question: ProcedureAsk) -> Answer:
        """As `ask`, whoever walks: somebody at the keys answers, or the meter that says its own readings."""
        visit = self._app.desk.visit
        if self.meter is None or visit is None:
            return await self.at_keys.ask(question)
        return await Metered(self.at_keys, self.meter, visit.clock).ask(question)

    def take_meter(self, meter: Meter | None) -> None:
        """From here on this meter says its own readings; None: they are typed. The one before is let go."""
        if self.meter is not None:
            self.meter.close()
        self.meter = meter
