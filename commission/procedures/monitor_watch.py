"""
Watching a pressure monitor while people work its test pump: what both trips, its own reading and the valve do.

Nothing is ever commanded from here. What to do next is said aloud and stays open as a question, the watch goes on
meanwhile, and what is wanted is taken as soon as it is seen; whoever cannot do it says so, and the run ends with why.
"""

from collections.abc import Callable, Generator
from math import fsum, sqrt

from commission.analysis.edges import scatter
from commission.analysis.trip import PRESSURE, Side, TripSet, track_of, trip_set
from commission.procedures.requests import Answer, Ask, Begin, Note, Reply, Request, SafeEnd, Watch
from commission.sample import Silence
from commission.sheet import Sheet
from commission.sheet.decode import Readings

GAP_S = 60.0
"""Nothing is commanded: a silence of the unit loses nothing but time."""

WAITS_S = 1800.0
"""People take as long as they take; after so long the run ends."""

LONGEST_S = 900.0
"""What a test of the monitor is reckoned to take, for the permit; nothing ends it there."""

CANNOT = "cannot"
READY = "ready"
RESET = "reset"
TO = "to"
PROTECTED = ("inhibit", "wanted")

_LEVEL_READINGS = 3
_PA_PER_BAR = 1e5

Steps = Generator[Request, Reply, None]


class Cannot(Exception):  # a way out of a run, not a fault
    """Something cannot be done or was not seen; the message says what. The run ends with it."""


class MonitorWatch:
    """
    What has been seen of a monitor.

    Args:
        sheet: The unit's sheet.

    Attributes:
        kept: Samples since `keep`, newest last.

        moved: Whether the valve has left its trip position, or moved from where it stood, while it should not.

    Raises:
        ValueError: the unit has no monitor, or lacks a point that it is watched by.
    """

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self.trips: dict[Side, TripSet] = {side: trip_set(sheet, side) for side in Side}
        for needed in (PRESSURE, *(trip.alarm for trip in self.trips.values())):
            if not sheet.has(needed):
                raise ValueError(f"to watch the pressure monitor the unit needs a point for {needed}; it has none")
        self.kept: list[Readings] = []
        self.silent = False
        self._latest: Readings | None = None
        self._keep_s: float | None = 0.0
        self._last_ns = 0

    def begin(self, test: str, longest_s: float, more: tuple[str, ...] = ()) -> Begin:
        """What is about to be done: nothing is commanded; `more` is watched besides."""
        wanted = dict.fromkeys(
            (
                *(PRESSURE, "alarm_high_trip", "alarm_low_trip", "alarm_relay"),
                *("travel", "open_limit", "closed_limit", "motor_running", *more),
            )
        )
        roles = tuple(role for role in wanted if self.sheet.has(role))
        return Begin(test, (), SafeEnd.SEND_NOTHING, None, {}, roles, longest_s, GAP_S)

    @property
    def normal_pa(self) -> float:
        """A pressure well inside both trips."""
        return (self.trips[Side.HIGH].point_pa + self.trips[Side.LOW].point_pa) / 2

    @property
    def latest(self) -> Readings:
        """The newest readings; raises Cannot before the first."""
        if self._latest is None:
            raise Cannot("no sample came")
        return self._latest

    @property
    def at_ns(self) -> int:
        """Unit time of the newest sample or silence."""
        return self._last_ns

    def bit(self, role: str) -> bool:
        """The newest state of a bit; False where it is not read."""
        return self._latest is not None and bool(self._latest.bit(role))

    @property
    def in_trip_position(self) -> bool:
        """Whether the valve stands where a trip would drive it, by its limit."""
        fails = self.sheet.actuator.fail_position
        return fails is not None and self.bit(f"{fails}_limit")

    @property
    def tripped(self) -> bool:
        """Whether either trip is shown."""
        return any(self.bit(trip.alarm) for trip in self.trips.values())

    def keep(self, newest_s: float | None = None) -> None:
        """Keep samples from here on; with `newest_s` the newest so many seconds of them only."""
        self.kept, self._keep_s = [], newest_s

    def level_pa(self) -> float:
        """The mean of the newest three readings."""
        values = [reading.value for reading in track_of(self.kept[-_LEVEL_READINGS:], PRESSURE)]
        if not values:
            value = self.latest.value(PRESSURE)
            if value is None:
                raise Cannot("the monitor's reading is not there")
            return value
        return fsum(values) / len(values)

    def noise_pa(self) -> float:
        """Standard deviation of the mean of the samples kept."""
        track = track_of(self.kept, PRESSURE)
        return scatter(track) / sqrt(len(track)) if track else 0.0

    def take(self, question: Ask | None = None) -> Generator[Request, Reply, Answer | None]:
        """The next sample, with a question open; the answer where somebody gave one instead."""
        item = yield Watch(asking=question)
        if isinstance(item, Answer):
            return item
        if isinstance(item, Silence):
            self.silent, self._last_ns = True, item.at_ns
        elif isinstance(item, Readings):
            self.silent, self._last_ns, self._latest = False, item.at_ns, item
            self._append(item)
        return None

    def fresh(self) -> Steps:
        """Watch until a reading comes, however many silences before it."""
        yield from self.take()
        while self.silent or self._latest is None:
            yield from self.take()

    def watch_for(self, seconds: float) -> Steps:
        """Watch for so many seconds."""
        yield from self.fresh()
        begun_ns = self._last_ns
        while self._last_ns - begun_ns < seconds * 1e9:
            yield from self.take()

    def until(self, done: Callable[[], bool], question: Ask, within_s: float = WAITS_S) -> Steps:
        """
        Say what to do, and watch until it is seen.

        Raises:
            Cannot: somebody says so, or it takes too long.
        """
        yield Note(f"NEXT  {question.text}", loud=True)
        begun_ns = self._last_ns
        while not done():
            said = yield from self.take(question)
            if said is not None:
                if said.text.strip().lower().startswith(CANNOT):
                    raise Cannot(said.text.strip()[len(CANNOT) :].strip(" ,:;") or "no reason given")
                yield Note(f"not seen yet: {self.words}", loud=True)
            if self._last_ns - begun_ns > within_s * 1e9:
                raise Cannot(f"not seen within {within_s:g} s: {question.text}")

    def waits(self, done: Callable[[], bool], within_s: float) -> Generator[Request, Reply, bool]:
        """Watch until something is so; False where it is not within so many seconds."""
        begun_ns = self._last_ns
        while not done():
            yield from self.take()
            if self._last_ns - begun_ns > within_s * 1e9:
                return False
        return True

    @property
    def words(self) -> str:
        """How it stands, in words."""
        value = None if self._latest is None else self._latest.value(PRESSURE)
        shown = "no reading" if value is None else f"the monitor reads {value / _PA_PER_BAR:.2f} bar"
        on = [f"{side} trip" for side, trip in self.trips.items() if self.bit(trip.alarm)]
        return f"{shown}, {' and '.join(on) or 'no trip'}"

    def normal(self) -> Steps:
        """
        Bring the pressure well inside both trips, and the trips off.

        Raises:
            Cannot: as for `until`.
        """
        yield from self.pressure_normal()
        if self.tripped:
            yield from self.reset()

    def pressure_normal(self) -> Steps:
        """
        Bring the pressure well inside both trips; whether they stay on is not asked.

        Raises:
            Cannot: as for `until`.
        """
        target = round(self.normal_pa / _PA_PER_BAR, 1)
        words = f"Bring the sensing line to {target:g} bar, between both trips. (Or: cannot, and why)"
        near = self.trips[Side.HIGH].tolerance_pa

        def inside() -> bool:
            return abs(self.level_pa() - self.normal_pa) <= 2 * near

        self.keep(1.0)
        yield from self.take()
        yield from self.until(inside, Ask(TO, words, unit="bar", target=target))

    def reset(self) -> Steps:
        """
        The trips off, by the reset at the unit.

        Raises:
            Cannot: as for `until`.
        """
        yield from self.until(lambda: not self.tripped, Ask(RESET, "Press RESET at the unit. (Or: cannot, and why)"))

    def ready(self) -> Generator[Request, Reply, str]:
        """
        What makes a trip allowed now (safety rule R24), in words.

        The valve stands in its trip position; or an inhibit is approved and proved on; or the trip is wanted, with the
        controller's go.

        Raises:
            Cannot: none of the three.
        """
        yield from self.watch_for(0.5)
        if self.in_trip_position:
            return f"The valve stood at its trip position, {self.sheet.actuator.fail_position}"
        text = (
            "The valve is NOT at its trip position: a trip moves it. Type: inhibit; who approved it; what proved it on."
            " Or: wanted; the controller who says go. (Or: cannot)"
        )
        while True:
            said = yield Ask(READY, text)
            typed = said.text if isinstance(said, Answer) else ""
            parts = [part.strip() for part in typed.split(";")]
            kind = parts[0].lower()
            if kind.startswith((CANNOT, "no")):
                raise Cannot(
                    "the valve is not at its trip position, no inhibit is proved on, and the trip is not wanted"
                )
            if kind == PROTECTED[0] and len(parts) == 3 and all(parts):
                return f"An inhibit was on, approved by {parts[1]}, proved by {parts[2]}"
            if kind == PROTECTED[1] and len(parts) == 2 and all(parts):
                return f"The trip was wanted; go by {parts[1]}"
            yield Note(
                f"{said.text if isinstance(said, Answer) else ''!r} is none of the three; asked again", loud=True
            )

    def number(self, question: str, text: str, unit: str, low: float, high: float) -> Generator[Request, Reply, float]:
        """A number from a person, asked again where it cannot be."""
        while True:
            answer = yield Ask(question, text, "number", unit)
            value = answer.value if isinstance(answer, Answer) else None
            if value is not None and low <= value <= high:
                return value
            found = "no number" if value is None else f"{value:g} {unit}"
            yield Note(f"{found} cannot be: {low:g} to {high:g} {unit}; asked again")

    def _append(self, item: Readings) -> None:
        if self._keep_s == 0.0:
            return
        self.kept.append(item)
        if self._keep_s is not None:
            oldest_ns = item.at_ns - round(self._keep_s * 1e9)
            while len(self.kept) > _LEVEL_READINGS and self.kept[1].at_ns <= oldest_ns:
                self.kept.pop(0)
