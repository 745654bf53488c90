"""
O3, O4, first: the delay of a trip, by a step well past the limit; and a pulse shorter than it, which must not trip.

The delay comes before the trip point, because the steps of a staircase are held by it (safety rule R24).
"""

from collections.abc import Generator, Mapping

from commission.analysis.trip import Side, TripSet
from commission.analysis.trip_delay import DelaySeen, pulse_seen
from commission.procedures.monitor_watch import LONGEST_S, Cannot, MonitorWatch, Steps
from commission.procedures.requests import Ask, Note, Procedure, Reply, Request
from commission.sheet import Sheet
from commission.sheet.decode import Readings

STEP = "step"
PULSE = "pulse"

WELL_PAST = 3.0
"""The step goes this many tolerances past the trip point."""

PULSE_SHARE = 0.3
LONGEST_PULSE_SHARE = 0.8
"""A pulse of this share of the delay is asked for, and one of at most that share counts."""

PULSE_TRIES = 3
_PA_PER_BAR = 1e5


def trip_delay(sheet: Sheet, arguments: Mapping[str, str]) -> Procedure[DelaySeen]:
    """
    The delay, and the pulse.

    Args:
        sheet: The unit's sheet.

        arguments: `trip` is high or low; `test` names the run.

    Returns:
        What was seen of both.

    Raises:
        ValueError: no such trip, or the unit lacks a point that it is watched by.
    """
    watch = MonitorWatch(sheet)
    trip = watch.trips[side_of(arguments)]
    test = arguments.get("test", f"{trip.side} trip delay")
    yield watch.begin(test, LONGEST_S)
    step: tuple[Readings, ...] = ()
    pulse: tuple[Readings, ...] = ()
    why = ""
    try:
        yield Note((yield from watch.ready()))
        yield from watch.normal()
        yield from _to_past(watch, trip)
        tripped = yield from watch.waits(lambda: watch.bit(trip.alarm), trip.delay_s + 10 * trip.delay_tolerance_s)
        step = tuple(watch.kept)
        yield Note(f"{'TRIP' if tripped else 'NOT SO  no trip'}  {watch.words}", loud=True)
        yield from watch.normal()
        if tripped:
            pulse = yield from _pulse(watch, trip)
        yield from watch.normal()
    except Cannot as end:
        why = str(end)
    return DelaySeen(test=test, side=trip.side, step=step, pulse=pulse, why=why)


def side_of(arguments: Mapping[str, str]) -> Side:
    """
    Which trip.

    Raises:
        ValueError: the arguments name none.
    """
    text = arguments.get("trip", "")
    try:
        return Side(text)
    except ValueError:
        raise ValueError(f"trip is high or low, not {text!r}") from None


def past_bar(trip: TripSet) -> float:
    """The pressure of a step well past the limit."""
    return round(trip.at(WELL_PAST * trip.tolerance_pa) / _PA_PER_BAR, 1)


def pulse_s(trip: TripSet) -> float:
    """How long a pulse is asked for."""
    return round(PULSE_SHARE * trip.delay_s, 1)


def _to_past(watch: MonitorWatch, trip: TripSet) -> Steps:
    watch.keep()
    yield from watch.watch_for(1.0)
    target = past_bar(trip)
    text = f"In one quick move: to {target:g} bar, and hold it there. (Or: cannot, and why)"
    yield from watch.until(lambda: is_past(watch, trip), Ask(STEP, text, unit="bar", target=target))


def is_past(watch: MonitorWatch, trip: TripSet) -> bool:
    """Whether the newest reading is surely past the trip point, or it has tripped."""
    value = watch.latest.value("pipeline_pressure")
    return watch.bit(trip.alarm) or (value is not None and trip.past(value) >= trip.tolerance_pa)


def is_inside(watch: MonitorWatch, trip: TripSet) -> bool:
    """Whether the newest reading is surely inside the trip point."""
    value = watch.latest.value("pipeline_pressure")
    return value is not None and trip.past(value) < -trip.tolerance_pa


def _pulse(watch: MonitorWatch, trip: TripSet) -> Generator[Request, Reply, tuple[Readings, ...]]:
    """A pulse that was seen whole and was short enough, or that tripped it."""
    if trip.delay_s < 2 * trip.delay_tolerance_s:
        yield Note(f"a delay of {trip.delay_s:g} s leaves no room for a shorter pulse: not tried")
        return ()
    target = past_bar(trip)
    text = f"A pulse of about {pulse_s(trip):g} s: to {target:g} bar and back at once. (Or: cannot, and why)"
    for _ in range(PULSE_TRIES):
        watch.keep()
        yield from watch.watch_for(0.5)
        yield from watch.until(lambda: is_past(watch, trip), Ask(PULSE, text, unit="bar", target=target))
        yield from watch.waits(lambda: is_inside(watch, trip), trip.delay_s)
        yield from watch.waits(lambda: watch.bit(trip.alarm), 1.5 * trip.delay_s)
        seen = tuple(watch.kept)
        if fault := why_no_pulse(seen, trip):
            yield Note(f"NO TEST  {fault}", loud=True)
            yield from watch.normal()
            continue
        tripped = watch.bit(trip.alarm)
        yield Note("NOT SO  the pulse tripped it" if tripped else "SEEN  the pulse did not trip it", loud=True)
        return seen
    raise Cannot("no pulse was short enough and seen whole")


def why_no_pulse(seen: tuple[Readings, ...], trip: TripSet) -> str:
    """Why a pulse says nothing; empty where it does."""
    known = pulse_seen(seen, trip)
    if known is None:
        return "the pulse was not seen to go past the limit and back"
    longest = LONGEST_PULSE_SHARE * trip.delay_s
    length_s, half_s = known
    if length_s + half_s > longest:
        return f"the pulse took {length_s:.1f} s, more than {longest:g} s: it may rightly trip"
    return ""
