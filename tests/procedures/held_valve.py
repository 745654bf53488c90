"""A valve that can be stopped and held, and people who read it: what span tests are played against, without a line."""

from collections.abc import Callable

from commission.procedures.requests import Answer, Ask, Sent
from commission.sample import Outcome, Silence
from commission.sheet.decode import Reading, Readings

STEP_S = 0.1


class HeldValve:
    """
    A unit in its own time, a tenth of a second a sample.

    Args:
        opens_per_s: Fraction of travel it opens in a second.

        stop_takes_s: How long it goes on after a stop.

        current_ma: The feedback current by true travel.
    """

    def __init__(
        self,
        *,
        opens_per_s: float = 1 / 146.5,
        stop_takes_s: float = 0.3,
        current_ma: Callable[[float], float] = lambda travel: 4 + 16 * travel,
    ) -> None:
        self.travel = 0.0
        self.opens_per_s = opens_per_s
        self.current_ma = current_ma
        self.bits = {"remote": 1.0, "automatic": 1.0, "esd_healthy": 1.0, "low_fluid": 0.0}
        self.answers: dict[str, Callable[[Ask], float | None]] = {}
        self.said: dict[str, Callable[[Ask], str]] = {}
        self.commands: list[str] = []
        self.notes: list[str] = []
        self.asked: list[str] = []
        self.refuses = False
        self.stuck = False
        self.silent = 0
        self.silent_from = 10**9
        self.people: Callable[[float], float] | None = None
        self.also: dict[str, Callable[[float], float]] = {}
        self.interrupts: dict[str, int] = {}
        self.interrupts_from_s = 0.0
        self.thinking_s = 5.0
        self.read_off = 0
        self._read_off_s = 0.0
        self._stop_takes_s = stop_takes_s
        self._at_s = 0.0
        self._moves_until_s: float | None = None
        self._number = 0

    @property
    def points_read(self) -> int:
        """How many points people have read off, a second after the last of them: then they go on."""
        return self.read_off if self._at_s - self._read_off_s > 1.0 else max(0, self.read_off - 1)

    def sample(self) -> Readings | Silence:
        """Let a tenth of a second pass, and read."""
        self._at_s += STEP_S
        self._number += 1
        moving = self._moves_until_s is not None and self._at_s <= self._moves_until_s and not self.stuck
        if moving:
            self.travel = min(1.0, self.travel + self.opens_per_s * STEP_S)
        if self.people is not None:
            self.travel = self.people(self._at_s)
        if self.silent or self.silent_from <= self._number < self.silent_from + 3:
            self.silent = max(0, self.silent - 1)
            return Silence(self._number, 0, round(self._at_s * 1e9), "no answer")
        shown = {
            "travel": self.travel,
            "feedback_current": self.current_ma(self.travel) / 1e3,
            "open_limit": float(self.travel >= 0.99),
            "closed_limit": float(self.travel <= 0.015),
            "motor_running": float(moving and self.travel < 1),
            "cylinder_pressure": 50e5,
            "motor_current": 0.0,
            **self.bits,
            **{role: at(self._at_s) for role, at in self.also.items()},
        }
        at_ns = round(self._at_s * 1e9)
        return Readings(self._number, at_ns, {role: Reading(value, at_ns, 1_000_000) for role, value in shown.items()})

    def command(self, role: str, value: int) -> Sent:
        """Take a command."""
        self.commands.append(role)
        outcome = Outcome.REFUSED if self.refuses else Outcome.ANSWERED
        if not self.refuses:
            self._moves_until_s = self._at_s + self._stop_takes_s if role == "command_stop" else 1e9
        return Sent(role, value, round(self._at_s * 1e9), 1_000_000, outcome, "in local" if self.refuses else "")

    def while_asked(self, question: Ask | None) -> Answer | None:
        """What is said to a question that stays open while the valve is watched; usually nothing."""
        if question is None or not self.interrupts.get(question.id) or self._at_s < self.interrupts_from_s:
            return None
        self.interrupts[question.id] -= 1
        return Answer(question.id, "a key", "T.", round(self._at_s * 1e9))

    def ask(self, question: Ask) -> Answer:
        """Answer as people do: the stem by scale, the meter in the loop; each takes a while."""
        self.asked.append(question.text)
        self._at_s += self.thinking_s
        usual: dict[str, float] = {
            "stem": round(self.travel * 900) / 10,
            "meter": round(self.current_ma(self.travel), 2),
        }
        if question.id == "meter":
            self.read_off, self._read_off_s = self.read_off + 1, self._at_s
        if question.id in self.said:
            return Answer(question.id, self.said[question.id](question), "M.", round(self._at_s * 1e9))
        given = self.answers[question.id](question) if question.id in self.answers else usual.get(question.id)
        return Answer(question.id, "" if given is None else f"{given:g}", "T.", round(self._at_s * 1e9), given)
