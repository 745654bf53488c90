"""
O3, O4, second: the trip point by staircase, three times, each step small and held (safety rule R24).

The program says the next level and how long to hold it, and watches the monitor's own reading. A trip that came within
a step too large or too short is no test, said aloud, and made again. At each trip the reference gauge is read, so that
what counts is a true pressure and not the monitor's own idea of it.
"""

from collections.abc import Callable, Generator, Mapping

from commission.analysis.gauge import gauge_of
from commission.analysis.trip import HELD, TripSet
from commission.analysis.trip_point import Approach, TripPointSeen, levels, why_no_test
from commission.procedures.monitor_watch import LONGEST_S, TO, Cannot, MonitorWatch, Steps
from commission.procedures.requests import Ask, Note, Procedure, Reply, Request
from commission.procedures.trip_delay import side_of
from commission.sheet import Sheet

GAUGE = "gauge"
TIMES = 3
MOST_NO_TESTS = 4

BEGINS = 1.1
"""The first staircase begins this many tolerances inside the trip point, and ends as many past it."""

AGAIN_STEPS = 2.5
"""The next ones begin this many steps inside the trip found before."""

AIMED = 0.8
"""Of the largest step: what is asked for, so that a hand may be a little off."""

ARRIVED = 0.6
"""A level counts as come to from this share of the step on; it is then held where it is."""

STILL_S = 3.0
"""Still for so long short of a level: the gauge at the pump shows something else than the monitor."""

_MARGIN_S = 0.5
_PA_PER_BAR = 1e5


def trip_point(sheet: Sheet, arguments: Mapping[str, str]) -> Procedure[TripPointSeen]:
    """
    The trip point, three times.

    Args:
        sheet: The unit's sheet.

        arguments: `trip` is high or low; `gauge` as `analysis.gauge` reads it; `test` names the run.

    Returns:
        What was seen of each approach.

    Raises:
        ValueError: no such trip, no such gauge, or the unit lacks a point that it is watched by.
    """
    watch = MonitorWatch(sheet)
    trip = watch.trips[side_of(arguments)]
    test = arguments.get("test", f"{trip.side} trip point")
    stairs = Staircase(watch, trip, arguments)
    yield watch.begin(test, LONGEST_S)
    why = ""
    try:
        yield Note((yield from watch.ready()))
        yield from stairs.climb()
        yield from watch.normal()
    except Cannot as end:
        why = str(end)
    return TripPointSeen(
        test=test,
        side=trip.side,
        gauge=stairs.gauge,
        approaches=tuple(stairs.approaches),
        reached_pa=stairs.reached_pa,
        no_tests=tuple(stairs.no_tests),
        why=why,
    )


class Staircase:
    """
    The approaches made so far.

    Args:
        watch: What is seen.

        trip: Which trip.

        arguments: `gauge` says what it is read with.

    Raises:
        ValueError: no such gauge.
    """

    def __init__(self, watch: MonitorWatch, trip: TripSet, arguments: Mapping[str, str]) -> None:
        self.gauge = gauge_of(arguments.get("gauge", ""))
        self.approaches: list[Approach] = []
        self.no_tests: list[str] = []
        self.reached_pa: float | None = None
        self._watch, self._trip = watch, trip
        self._begins_pa = -BEGINS * trip.tolerance_pa
        self._off_pa = 0.0

    def climb(self) -> Steps:
        """
        Three approaches that count.

        Raises:
            Cannot: nothing tripped within the tolerance, too many were no test, or somebody cannot go on.
        """
        while len(self.approaches) < TIMES:
            yield from self._watch.normal()
            yield Note(f"asked: approach {len(self.approaches) + 1} of {TIMES}", loud=True)
            if not (yield from self._to_the_trip()):
                raise Cannot(f"nothing tripped up to {self._watch.words}")
            yield from self._judge()

    def _to_the_trip(self) -> Generator[Request, Reply, bool]:
        """Step by step until it trips; False where it does not within the tolerance."""
        watch, trip = self._watch, self._trip
        watch.keep(HELD * trip.delay_s)
        target_pa = self._begins_pa
        first = True
        while target_pa <= BEGINS * trip.tolerance_pa + trip.step_pa:
            yield from self._come_to(target_pa)
            yield from watch.waits(lambda: watch.bit(trip.alarm), HELD * trip.delay_s + _MARGIN_S)
            if watch.bit(trip.alarm):
                return True
            if first:  # come to from far: what it is off now is the gauge's, and no small step's
                self._off_pa += watch.level_pa() - trip.at(target_pa)
            first = False
            target_pa = trip.past(watch.level_pa()) + AIMED * trip.step_pa
        self.reached_pa = watch.level_pa()
        return False

    def _come_to(self, past_pa: float) -> Steps:
        """
        Have a level made, by the monitor's own reading.

        People go by their gauge, which may show something else: where the reading has moved and stands still short of
        the level, the next number asked for is moved by what was missing.
        """
        watch, trip = self._watch, self._trip
        enough_pa = past_pa - (1 - ARRIVED) * trip.step_pa
        begun_pa = watch.level_pa()
        way = "Raise" if trip.sign > 0 else "Lower"

        def arrived() -> bool:
            return watch.bit(trip.alarm) or trip.past(watch.level_pa()) >= enough_pa

        while not arrived():
            target_bar = round((trip.at(past_pa) - self._off_pa) / _PA_PER_BAR, 2)
            text = f"{way} gently to {target_bar:g} bar, hold it {HELD * trip.delay_s:g} s. (Or: cannot, and why)"
            come = _Come(watch, trip, begun_pa, arrived)
            yield from watch.until(come.seen, Ask(TO, text, unit="bar", target=target_bar))
            if not arrived():
                self._off_pa += watch.level_pa() - trip.at(past_pa)

    def _judge(self) -> Steps:
        """Whether that trip counts, and the gauge read where it came."""
        watch, trip = self._watch, self._trip
        seen = tuple(watch.kept)
        fault = why_no_test(seen, trip)
        if fault:
            yield Note(f"NO TEST  {fault}", loud=True)
            self.no_tests.append(fault)
            if len(self.no_tests) > MOST_NO_TESTS:
                raise Cannot("too many approaches were no test")
            self._begins_pa -= trip.tolerance_pa
            return
        yield Note(f"TRIP  {watch.words}. Hold it there", loud=True)
        high = self.gauge.accuracy.high
        gauge_bar = yield from watch.number(
            GAUGE, f"Hold it there. Gauge {self.gauge.id} reads, in bar", "bar", 0.0, high
        )
        watch.keep(1.0)
        yield from watch.watch_for(1.0)
        self.approaches.append(Approach(seen=seen, gauge_bar=gauge_bar, reading_pa=watch.level_pa()))
        known = levels(seen)
        if known is not None:
            self._begins_pa = trip.past(known.middle_pa) - AGAIN_STEPS * trip.step_pa


class _Come:
    """Whether the level is there, or the reading has moved since it was asked for and stands still short of it."""

    def __init__(self, watch: MonitorWatch, trip: TripSet, begun_pa: float, arrived: Callable[[], bool]) -> None:
        self._watch, self._trip, self._arrived = watch, trip, arrived
        self._begun_pa = self._level_pa = begun_pa
        self._still_ns = watch.at_ns

    def seen(self) -> bool:
        """By the newest reading."""
        now_pa, small = self._watch.level_pa(), (1 - ARRIVED) * self._trip.step_pa
        if abs(now_pa - self._level_pa) > small:
            self._level_pa, self._still_ns = now_pa, self._watch.at_ns
        still_s = (self._watch.at_ns - self._still_ns) / 1e9
        return self._arrived() or (abs(now_pa - self._begun_pa) > small and still_s > STILL_S)
