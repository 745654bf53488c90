"""
O3: a real trip of an open valve, timed to its safe end (safety rules R19 and R24).

Nothing is sent from here: the monitor commands it. The stroke's beginning is the moment at which the trip's own bit
came, and the record says so.
"""

from collections.abc import Generator, Mapping

from commission.analysis.intervals import Instant
from commission.analysis.observed import StrokeEnd, StrokeObserved, limit_role
from commission.analysis.trip import tripped_at
from commission.procedures.full_stroke import MOTOR_STOPS_WITHIN_S, travel_timeout_s, watched_roles
from commission.procedures.monitor_watch import WAITS_S, Cannot, MonitorWatch, Steps
from commission.procedures.requests import Ask, Note, Procedure, Reply, Request
from commission.procedures.trip_delay import STEP, is_past, past_bar, side_of
from commission.sample import Outcome, Written
from commission.sheet import End, Sheet
from commission.sheet.decode import Readings

BY = "pressure monitor"
AFTER_S = 2.0


def trip_stroke(sheet: Sheet, arguments: Mapping[str, str]) -> Procedure[StrokeObserved]:
    """
    One stroke that the monitor commands.

    Args:
        sheet: The unit's sheet.

        arguments: `trip` is high or low, `direction` the end that a trip drives the valve to; `test` names the run.

    Returns:
        All that was seen of it.

    Raises:
        ValueError: no such trip, a trip does not drive the valve there, or the unit lacks a point.
    """
    trip_side, direction = side_of(arguments), End(arguments.get("direction", ""))
    if direction is not sheet.actuator.fail_position:
        raise ValueError(f"a trip does not drive this valve to {direction}")
    watch = MonitorWatch(sheet)
    stroke = _Tripped(watch, direction, arguments.get("test", "trip stroke"))
    timeout_s = travel_timeout_s(sheet, direction)
    longest_s = WAITS_S + timeout_s + MOTOR_STOPS_WITHIN_S
    yield watch.begin(stroke.test, longest_s, watched_roles(sheet))
    trip = watch.trips[trip_side]
    try:
        if not (yield from stroke.is_ready()):
            return stroke.observed(StrokeEnd.NOT_READY, "the valve does not stand at the other end")
        target = past_bar(trip)
        text = f"Trip it: in one quick move to {target:g} bar, and hold it. (Or: cannot, and why)"
        yield from watch.until(lambda: is_past(watch, trip), Ask(STEP, text, unit="bar", target=target))
        within_s = trip.delay_s + 10 * trip.delay_tolerance_s
        if not (yield from watch.waits(lambda: watch.bit(trip.alarm), within_s)):
            return stroke.observed(StrokeEnd.NO_MOTION, f"it did not trip: {watch.words}")
        stroke.received(tripped_at(tuple(watch.kept), trip))
        home = yield from watch.waits(lambda: watch.bit(limit_role(direction)), timeout_s)
        yield from watch.watch_for(AFTER_S)
        yield from stroke.put_back()
    except Cannot as end:
        return stroke.observed(StrokeEnd.NO_MOTION, str(end))
    words = "" if home else f"end of travel not reached in {timeout_s:g} s"
    return stroke.observed(StrokeEnd.HOME if home else StrokeEnd.TIMED_OUT, words)


class _Tripped:
    """What is known of the stroke so far."""

    def __init__(self, watch: MonitorWatch, direction: End, test: str) -> None:
        self.test = test
        self._watch, self._direction = watch, direction
        self._command: Written | None = None
        self._seen: tuple[Readings, ...] | None = None

    def is_ready(self) -> Generator[Request, Reply, bool]:
        """Whether the valve stands at the other end, both trips off, and somebody wants it to trip."""
        watch = self._watch
        yield from watch.fresh()
        other = End.OPEN if self._direction is End.CLOSED else End.CLOSED
        if not watch.bit(limit_role(other)):
            return False
        yield Note((yield from watch.ready()))
        yield from watch.normal()
        watch.keep()
        yield from watch.watch_for(1.0)
        return True

    def received(self, tripped: Instant | None) -> None:
        """The trip's bit is where the stroke begins."""
        if tripped is not None:
            half_ns = (tripped.latest_ns - tripped.earliest_ns) // 2
            self._command = Written(tripped.at_ns, half_ns, Outcome.ANSWERED, "the trip's own bit")

    def put_back(self) -> Steps:
        """What was seen is kept as it is; then the pressure is made normal again and the trip reset."""
        self._seen = tuple(self._watch.kept)
        yield from self._watch.normal()

    def observed(self, ended: StrokeEnd, why: str = "") -> StrokeObserved:
        """All that was seen."""
        return StrokeObserved(
            test=self.test,
            direction=self._direction,
            command=self._command,
            seen=tuple(self._watch.kept) if self._seen is None else self._seen,
            ended=ended,
            why=why,
            timed_by="samples over the link, from the trip's own bit",
            commanded_by=BY,
        )
