"""
While the valve moves: what the stop key does now, the motion each second, and every typed line.

A line typed while nothing is asked stops the motion. While the procedure asks something, a line with words answers it,
and Enter alone stops. `/gas` is the gas alarm at any moment.
"""

import asyncio
from collections.abc import Callable

from commission.cli import output, saying
from commission.cli.typed_lines import TypedLines
from commission.face import wording
from commission.face.procedure_answer import how_to_answer
from commission.procedures.requests import Ask
from commission.supervise.stop_field import stop_field
from commission.visit import Visit
from commission.walk import acts

STOP_KEY = "ENTER or Ctrl-C"
RETURN_KEY = "R"
"""Typed before ENTER it brings the valve back in a partial stroke, where ENTER alone holds it."""
GAS = "/gas"
_SHOWN_EVERY_S = 1.0


class Questions:
    """What a procedure asks while it runs, and the line that answers it."""

    def __init__(self) -> None:
        self._line: asyncio.Future[str] | None = None
        self.before: Callable[[], None] = lambda: None
        """Says what comes before a question: what the test has told so far."""

    @property
    def open(self) -> bool:
        """Whether something is asked now."""
        return self._line is not None and not self._line.done()

    async def ask(self, question: Ask) -> str:
        """The line typed in answer."""
        self._line = asyncio.get_running_loop().create_future()
        self.before()
        saying.say(question.text)
        output.say(f"  ({how_to_answer(question)}, then Enter; Enter alone still stops)")
        try:
            return await self._line
        finally:
            self._line = None

    def answer(self, line: str) -> None:
        """Give the line."""
        if self._line is not None and not self._line.done():
            self._line.set_result(line)


async def show(visit: Visit, running: "asyncio.Task[object]", lines: TypedLines, questions: Questions, by: str) -> None:
    """
    Show the open motion until it is over, and let it be stopped; then its result.

    Args:
        visit: The open visit.

        running: The motion.

        lines: What is typed.

        questions: What the procedure asks.

        by: Who is at the keyboard.
    """
    field_shown, gone = False, False
    teller = _Teller(visit)
    questions.before = teller.tell
    typed = asyncio.ensure_future(lines.next())
    while not running.done():
        waited: set[asyncio.Future[object]] = {running} if gone else {running, typed}  # type: ignore[arg-type]  # futures of any result
        await asyncio.wait(waited, timeout=_SHOWN_EVERY_S, return_when=asyncio.FIRST_COMPLETED)
        if running.done():
            break
        if not gone and typed.done():
            line = typed.result()
            _typed(visit, line, questions, by)
            gone = line is None
            typed = asyncio.ensure_future(lines.next())
        teller.tell()
        field_shown = _show_once(visit, field_shown=field_shown)
    teller.tell()  # the last word came with the end
    typed.cancel()
    await asyncio.gather(typed, return_exceptions=True)
    lines.forget_waiting()
    runs = list(visit.job.runs.values())
    for line in wording.run_lines(runs[-1]) if runs else []:
        output.say(line)


def _typed(visit: Visit, line: str | None, questions: Questions, by: str) -> None:
    said = (line or "").strip()
    if said.lower() == GAS:
        visit.gas_alarm(by)
        saying.say(acts.GAS_ALARM_WORDS)
    elif said.lower() == "r" and _returns(visit) and visit.stop(by or "the keyboard", "return key", returning=True):
        output.say("RETURN asked for; it counts only when the valve is seen coming back")
    elif said and questions.open:
        questions.answer(said)
    elif visit.stop(by or "the keyboard", "stop key" if line is not None else "the terminal is gone"):
        output.say("STOP asked for; it counts only when the valve is seen at rest")


def _returns(visit: Visit) -> bool:
    """Whether this motion has a return of its own beside the stop."""
    begun = None if visit.supervisor is None else visit.supervisor.begun
    return begun is not None and begun.stop_command is not None


class _Teller:
    """Says what the test tells the people at the valve, beeped, each once and in order."""

    def __init__(self, visit: Visit) -> None:
        self._visit = visit
        self._told = 0

    def tell(self) -> None:
        """What is new."""
        supervisor = self._visit.supervisor
        said = () if supervisor is None else supervisor.said
        for words in said[self._told :]:
            saying.say(f"\a  >> {words}")
        self._told = max(self._told, len(said))


def _show_once(visit: Visit, *, field_shown: bool) -> bool:
    """Show the motion now, with what the stop key does before its first line; whether that was shown."""
    supervisor = visit.supervisor
    view = None if supervisor is None else supervisor.view
    if supervisor is None or view is None:
        return field_shown
    if not field_shown and supervisor.begun is not None and visit.link is not None:
        facts = visit.link.facts
        back = "" if supervisor.begun.stop_command is None else RETURN_KEY
        safe_end, sheet = supervisor.begun.agreed_end, visit.job.sheet
        saying.say(stop_field(sheet, safe_end, facts.make_safe_s, STOP_KEY, return_key=back))
        field_shown = True
    output.say(wording.held_line(view, visit.clock.wire_ns()) or wording.motion_line(view))
    return field_shown
