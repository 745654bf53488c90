"""A pressure monitor and the people at its test pump: what its tests are played against, without a line."""

import random
from collections.abc import Callable

from commission.procedures.requests import Answer, Ask
from commission.sample import Silence
from commission.sheet.decode import Reading, Readings
from tests.procedures.played import OnlyWatched

SCAN_S = 0.02
GAUGE = "G-12; 0-100 bar; 0.1 bar; 0.1 bar"


class Monitored(OnlyWatched):
    """
    A monitor in its own time.

    Args:
        high_bar: Where it really trips, by its own transmitter.

        low_bar: Likewise.

        high_s: How long the pressure must really stay past it.

        low_s: Likewise.

        off_bar: Its transmitter reads so much too high.

        noise_bar: Standard deviation of a reading.

        period_s: Time between two samples.

        seed: Of its noise and of when it is read.
    """

    def __init__(
        self,
        *,
        high_bar: float = 70.0,
        low_bar: float = 50.0,
        high_s: float = 3.0,
        low_s: float = 5.0,
        off_bar: float = 0.0,
        noise_bar: float = 0.02,
        period_s: float = 0.1,
        seed: int = 1,
    ) -> None:
        self.points = {"high": high_bar, "low": low_bar}
        self.delays = {"high": high_s, "low": low_s}
        self.off_bar, self.noise_bar, self.period_s = off_bar, noise_bar, period_s
        self.random = random.Random(seed)
        self.bar = 61.8
        self.latched = {"high": False, "low": False}
        self.bits: dict[str, float] = {"closed_limit": 1.0, "open_limit": 0.0, "motor_running": 0.0}
        self.travel = 0.0
        self.at_s = self.random.random() * period_s
        self.moves: list[tuple[float, float]] = []
        self.said: dict[str, list[str]] = {}
        self.hands: dict[str, Callable[[Ask], None]] = {
            "to": lambda ask: self.go(ask.target or 0.0),
            "step": lambda ask: self.go(ask.target or 0.0),
            "pulse": lambda ask: self.pulse(ask.target or 0.0, 1.0),
            "reset": lambda _ask: self.reset(),
            "venting": lambda _ask: self.ramp(0.0, 2.0),
        }
        self.latches = True
        self.trips_valve = False
        self.notes: list[str] = []
        self.asked: list[str] = []
        self.silent = 0
        self._past_s = {"high": 0.0, "low": 0.0}
        self._done: str = ""
        self._number = 0

    @property
    def read_bar(self) -> float:
        """What its transmitter makes of the pressure."""
        return self.bar + self.off_bar

    def go(self, bar: float) -> None:
        """At once."""
        self.moves = [(self.at_s, bar)]

    def pulse(self, bar: float, seconds: float) -> None:
        """There, and back after so many seconds."""
        self.moves = [(self.at_s, bar), (self.at_s + seconds, self.bar)]

    def ramp(self, bar: float, bar_s: float) -> None:
        """Slowly, a step of a hundredth of a second at a time."""
        steps = max(1, round(abs(bar - self.bar) / bar_s / 0.01))
        self.moves = [
            (self.at_s + 0.01 * number, self.bar + (bar - self.bar) * number / steps) for number in range(1, steps + 1)
        ]

    def reset(self) -> None:
        """The button at the unit; past a trip point it does nothing."""
        if not any(self._past(side) for side in self.points):
            self.latched = dict.fromkeys(self.latched, False)

    def advance(self, seconds: float) -> None:
        """Let time pass, scan by scan."""
        until_s = self.at_s + seconds
        while self.at_s < until_s - 1e-9:
            self.at_s += min(SCAN_S, until_s - self.at_s)
            while self.moves and self.moves[0][0] <= self.at_s:
                self.bar = self.moves.pop(0)[1]
            for side in self.points:
                self._past_s[side] = self._past_s[side] + SCAN_S if self._past(side) else 0.0
                if self._past_s[side] > self.delays[side]:
                    self.latched[side] = True
                elif not self.latches and not self._past(side):
                    self.latched[side] = False
            if self.trips_valve and any(self.latched.values()):
                self.bits["open_limit"] = 0.0
                self.travel = max(0.0, self.travel - SCAN_S / 8.0)
                self.bits["closed_limit"] = float(self.travel <= 0.015)

    def sample(self) -> Readings | Silence:
        """Let one period pass, and read."""
        self.advance(self.period_s)
        self._number += 1
        at_ns = round(self.at_s * 1e9)
        if self.silent:
            self.silent -= 1
            return Silence(self._number, 0, at_ns, "no answer")
        shown = {
            "pipeline_pressure": (self.read_bar + self.random.gauss(0, self.noise_bar)) * 1e5,
            "alarm_high_trip": float(self.latched["high"]),
            "alarm_low_trip": float(self.latched["low"]),
            "alarm_relay": float(not any(self.latched.values())),
            "travel": self.travel,
            **self.bits,
        }
        return Readings(self._number, at_ns, {role: Reading(value, at_ns, 1_000_000) for role, value in shown.items()})

    def while_asked(self, question: Ask | None) -> Answer | None:
        """What people do once when something is asked of them while it is watched; what they say, where they do."""
        if question is None:
            self._done = ""  # a question taken back is asked anew
            return None
        key = f"{question.id} {question.text} {question.target}"
        if key == self._done:
            return None
        self._done = key
        self.asked.append(question.text)
        if self.said.get(question.id):
            return Answer(question.id, self.said[question.id].pop(0), "T.", round(self.at_s * 1e9))
        if question.id in self.hands:
            self.hands[question.id](question)
        return None

    def ask(self, question: Ask) -> Answer:
        """Answer as people do; a gauge is read to a tenth of a bar."""
        self._done = ""
        self.asked.append(question.text)
        self.advance(2.0)
        if question.id in self.hands:
            self.hands[question.id](question)
        if self.said.get(question.id):
            text = self.said[question.id].pop(0)
            return Answer(question.id, text, "T.", round(self.at_s * 1e9))
        value = round(self.bar, 1)
        return Answer(question.id, f"{value:g}", "T.", round(self.at_s * 1e9), value)

    def _past(self, side: str) -> bool:
        return self.read_bar >= self.points["high"] if side == "high" else self.read_bar <= self.points["low"]
