"""
The walk by itself while somebody watches: the people of an answers file answer on the walk screen, at a readable pace.

The stop key ends it at any time, and whoever watches goes on by keys from there; any other key pauses and goes on.
"""

import asyncio
from typing import TYPE_CHECKING, Any

import msgspec

from commission.checklist import Step
from commission.content import ContentError
from commission.face.dialogue import Left, Reply, Speaker
from commission.procedures.requests import Answer
from commission.procedures.requests import Ask as ProcedureAsk
from commission.terminal.screens.result import ResultScreen
from commission.terminal.widgets.lines import Key
from commission.visit import Visit
from commission.walk.prompts import Prompt
from commission.walk.refusal import Refusal

if TYPE_CHECKING:
    from commission.terminal.app import CommissionApp

_GIVEN_PACES = 0.5
"""How long an answer stands in its field before it is given, in paces."""

_RESULT_PACES = 4.0
"""How long a result is shown, in paces."""

_OVER = "The walk by itself has ended. U says who you are; then go on by keys."


class ByItself(msgspec.Struct, frozen=True):
    """
    A visit that can be walked without anybody at the keys.

    Args:
        visit: The open visit, connected.

        by: Whose word is recorded.

        crew: Who answers.

        pace_s: Seconds of wire time for which a prompt is shown.
    """

    visit: Visit
    by: str
    crew: Speaker
    pace_s: float


class WatchedSpeaker:
    """
    Shows on the screens what the crew answers.

    Args:
        app: The app.

        crew: Who answers; a `Left` of it hands over to whoever watches.

        pace_s: Seconds for which a prompt is shown.
    """

    def __init__(self, app: "CommissionApp", crew: Speaker, pace_s: float) -> None:
        self._app = app
        self._screens = app.speaker
        self._crew = crew
        self._pace_s = pace_s
        self._going = asyncio.Event()
        self._going.set()
        self._over = asyncio.Event()
        self._just_concluded = False

    @property
    def walking(self) -> bool:
        """Whether it still answers."""
        return not self._over.is_set()

    @property
    def keys(self) -> tuple[Key, ...]:
        """The keys that work while it walks."""
        other = "pause" if self._going.is_set() else "PAUSED, go on"
        return (Key("SPACE", "stop, go on by keys", 0), Key("any other", other, 0), Key("Ctrl-Q", "quit", 1))

    def turn(self) -> None:
        """Pause, or go on."""
        if self._going.is_set():
            self._going.clear()
        else:
            self._going.set()

    def hand_over(self, why: str = "") -> None:
        """End the walk by itself: whoever watches says who they are and goes on by keys."""
        if self.walking:
            self._over.set()
            self._app.who = ""
            self._app.walk.show_problem(f"{why}. {_OVER}" if why else _OVER)

    def finish(self) -> None:
        """The walk has come to its end."""
        self._over.set()

    def step(self, visit: Visit, step: Step) -> None:
        """Show a step."""
        self._screens.step(visit, step)
        if self.walking:
            self._crew.step(visit, step)

    def refused(self, step: Step, refusal: Refusal) -> None:
        """Show why a step may not go on."""
        self._screens.refused(step, refusal)

    def problem(self, sentence: str) -> None:
        """Show what was not taken; a crew that keeps at it hands over."""
        self._screens.problem(sentence)
        if self.walking:
            try:
                self._crew.problem(sentence)
            except Left as left:
                self.hand_over(str(left))

    def concluded(self, visit: Visit, step: Step) -> None:
        """Show the verdict."""
        self._screens.concluded(visit, step)
        self._just_concluded = True

    async def reply(self, visit: Visit, step: Step, prompt: Prompt) -> Reply | None:
        """The crew's answer, shown before it is given; the person's after a handing over."""
        if self._just_concluded:
            self._just_concluded = False
            await self._shown_for(1.0)
        asking = asyncio.get_running_loop().create_task(self._screens.reply(visit, step, prompt))
        try:
            reply = await self._of_the_crew(visit, step, prompt)
            return await asking if reply is None else reply
        finally:
            asking.cancel()
            await asyncio.gather(asking, return_exceptions=True)

    async def unblock(self, visit: Visit, step: Step) -> None:
        """Nobody of the crew can do anything about a refusal, so it is the person's."""
        self.hand_over(f"{step.id} may not go on")
        await self._screens.unblock(visit, step)

    async def line_needed(self, visit: Visit) -> None:
        """
        The crew waits for the unit to answer again; then it is the person's.

        Raises:
            Left: somebody leaves instead.
        """
        if self.walking:
            try:
                await self._crew.line_needed(visit)
            except Left as left:
                self.hand_over(str(left))
            else:
                return
        await self._screens.line_needed(visit)

    async def moving(self, visit: Visit, running: "asyncio.Task[object]") -> None:
        """Show the motion, then its result for a while; after a stop until it was read."""
        showing = asyncio.get_running_loop().create_task(self._screens.moving(visit, running))
        await asyncio.wait({running})
        if self.walking:
            await asyncio.wait({showing}, timeout=0.2)
            await self._shown_for(_RESULT_PACES)
        while self.walking and not showing.done():
            screen = self._app.screen
            if isinstance(screen, ResultScreen):
                screen.dismiss(result=True)
            await asyncio.wait({showing}, timeout=0.2)
        await showing

    async def ask(self, question: ProcedureAsk) -> Answer:
        """A procedure's own question, shown, and the crew's answer; what the crew cannot know the person says."""
        asking = asyncio.get_running_loop().create_task(self._screens.ask_person(question))
        try:
            return await self._crew.ask(question)
        except (Left, ContentError) as unknown:
            self.hand_over(str(unknown))
            return await asking
        finally:
            asking.cancel()
            await asyncio.gather(asking, return_exceptions=True)

    async def _of_the_crew(self, visit: Visit, step: Step, prompt: Prompt) -> Reply | None:
        """None where it is the person's."""
        await self._shown_for(1.0)
        if not self.walking:
            return None
        try:
            reply = await self._crew.reply(visit, step, prompt)
        except Left as left:
            self.hand_over(str(left))
            return None
        if reply is not None:
            self._app.walk.show_given(reply.text)
        await self._shown_for(_GIVEN_PACES)
        return None if self._over.is_set() else reply

    async def _shown_for(self, paces: float) -> None:
        """Let somebody read; not over while it is paused, and over at once when it is handed over."""
        if not self.walking:
            return
        passed: asyncio.Future[None] = asyncio.ensure_future(self._passed(paces * self._pace_s))
        over: asyncio.Future[bool] = asyncio.ensure_future(self._over.wait())
        waited: set[asyncio.Future[Any]] = {over, passed}
        try:
            await asyncio.wait(waited, return_when=asyncio.FIRST_COMPLETED)
        finally:
            for task in waited:
                task.cancel()
            await asyncio.gather(*waited, return_exceptions=True)

    async def _passed(self, seconds: float) -> None:
        await asyncio.sleep(seconds)
        await self._going.wait()
