"""A practice unit without a wire, and the people beside it: what procedures that only watch are played against."""

from collections.abc import Callable

from commission.practice.acts import NotDone
from commission.practice.site import SiteDesk
from commission.practice.unit import PracticeUnit
from commission.procedures.requests import Answer, Ask
from commission.sample import Silence
from commission.sheet.decode import Reading, Readings
from tests.procedures.played import OnlyWatched

HALF_NS = 2_000_000


class Practised(OnlyWatched):
    """
    The unit's own physics and logic, read every so often in its own time.

    Args:
        unit: The unit.

        period_s: Time between two samples.

    Attributes:
        hands: What is done at the unit for a question, by its id; a number of seconds lets so much time pass.

        said: What is said to a question, by its id; one that is in neither is left open.
    """

    def __init__(self, unit: PracticeUnit, *, period_s: float = 0.2) -> None:
        self.unit, self.desk, self.period_s = unit, SiteDesk(unit), period_s
        self.hands: dict[str, Callable[[SiteDesk], None] | float] = {}
        self.said: dict[str, str] = {}
        self.numbers: dict[str, Callable[[SiteDesk], float]] = {}
        self.notes: list[str] = []
        self._open = ""
        self._number = 0

    def order(self, *which: str) -> None:
        """From the control room; a refusal is its answer."""
        for order in which:
            try:
                self.desk.act("other_master_orders", which=order)
            except NotDone as refused:
                self.notes.append(f"room: {refused}")

    def sample(self) -> Readings | Silence:
        """Let one period pass, and read; a unit without power or lead is silent."""
        self.unit.advance(self.period_s)
        self._number += 1
        at_ns = round(self.unit.now_s * 1e9)
        if not self.unit.side.control_on or self.unit.side.link_cut:
            return Silence(self._number, 0, at_ns, "no answer")
        self.unit.link_silent_s = 0.0
        shown = self.unit.readings()
        return Readings(self._number, at_ns, {role: Reading(value, at_ns, HALF_NS) for role, value in shown.items()})

    def ask(self, question: Ask) -> Answer:
        """What is done and said once to a question that is waited for."""
        answer = self.while_asked(question)
        assert answer is not None, question
        return answer

    def while_asked(self, question: Ask | None) -> Answer | None:
        """What is done and said once to a question; None where it is left open."""
        if question is None:
            return None
        key = f"{question.id} {question.text}"
        if key == self._open:
            return None
        self._open = key
        hand = self.hands.get(question.id)
        if isinstance(hand, float):
            self.unit.advance(hand)
        elif hand is not None:
            hand(self.desk)
        at_ns = round(self.unit.now_s * 1e9)
        if question.id in self.numbers:
            value = self.numbers[question.id](self.desk)
            return Answer(question.id, f"{value:g}", "Juno", at_ns, value)
        if question.id not in self.said:
            return None
        return Answer(question.id, self.said[question.id], "Mara", at_ns)
