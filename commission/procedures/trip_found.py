"""
O1: the first low trip as it is found, from the first vent.

Order by safety rule R24: what makes a trip allowed is seen or said first; only then the root valve is shut, and only
then the sensing line is vented. This first vent is the as-found.
"""

from collections.abc import Mapping

from commission.analysis.trip import Side
from commission.analysis.trip_found import FoundSeen
from commission.procedures.monitor_watch import LONGEST_S, Cannot, MonitorWatch, Steps
from commission.procedures.requests import Answer, Ask, Note, Procedure
from commission.sheet import Sheet

ROOT = "root shut"
VENT = "venting"
PAST = 4.0
"""So many tolerances past the trip point and a delay more, and nothing has tripped."""


def trip_found(sheet: Sheet, arguments: Mapping[str, str]) -> Procedure[FoundSeen]:
    """
    The first low trip.

    Args:
        sheet: The unit's sheet.

        arguments: `test` names the run.

    Returns:
        What was seen from before the vent to the trip.

    Raises:
        ValueError: the unit has no monitor, or lacks a point that it is watched by.
    """
    watch = MonitorWatch(sheet)
    test = arguments.get("test", "trip as found")
    yield watch.begin(test, LONGEST_S)
    ready = why = ""
    try:
        ready = yield from watch.ready()
        yield Note(ready)
        yield from _root_valve_shut(watch)
        yield from _vented(watch)
    except Cannot as end:
        why = str(end)
    return FoundSeen(test=test, side=Side.LOW, ready=ready, seen=tuple(watch.kept), why=why)


def _root_valve_shut(watch: MonitorWatch) -> Steps:
    if watch.tripped:
        raise Cannot(f"it was tripped before anything was vented: {watch.words}")
    text = "Shut the root valve and lock it. Type its number and the lock's. (Or: cannot, and why)"
    yield Note(f"NEXT  {text}", loud=True)
    said = yield Ask(ROOT, text)
    if not isinstance(said, Answer) or said.text.strip().lower().startswith("cannot"):
        raise Cannot(said.text if isinstance(said, Answer) else "the root valve was not shut")
    yield Note(f"root valve: {said.text}")
    yield from watch.watch_for(0.5)


def _vented(watch: MonitorWatch) -> Steps:
    trip = watch.trips[Side.LOW]
    before = watch.in_trip_position
    watch.keep(max(60.0, 4 * trip.delay_s))
    past_ns: list[int] = []

    def done() -> bool:
        if watch.bit(trip.alarm):
            return True
        if watch.kept and trip.past(watch.level_pa()) > PAST * trip.tolerance_pa:
            past_ns.append(watch.at_ns)
            return watch.at_ns - past_ns[0] > 2 * trip.delay_s * 1e9
        return False

    text = "Vent the sensing line SLOWLY, to the agreed place. Stay upwind. (Or: cannot, and why)"
    yield from watch.until(done, Ask(VENT, text))
    if not watch.bit(trip.alarm):
        raise Cannot(f"nothing tripped: {watch.words}")
    yield Note(f"LOW TRIP  {watch.words}", loud=True)
    seen = list(watch.kept)
    yield from watch.watch_for(2.0)
    watch.kept = seen
    if before and not watch.in_trip_position:
        yield Note("the valve has left its trip position", loud=True)
