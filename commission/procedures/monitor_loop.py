"""
O6: open and short the loop of the monitor's transmitter, in control, and say which way the monitor takes it.

A qualified person works at the terminals; the program watches both trips, the alarm relay and the reading, and holds
what it sees against the sheet: a broken loop must never be taken for a low pressure by accident.
"""

from collections.abc import Mapping

from commission.analysis.trip import PA_PER_BAR, PRESSURE, Side
from commission.analysis.wiring import Finding, PointSeen, WiringSeen
from commission.procedures.monitor_watch import Cannot, MonitorWatch, Steps
from commission.procedures.requests import Ask, Note, Procedure
from commission.procedures.wiring_contacts import looking
from commission.sheet import Sheet

FAULTS = ("open", "shorted")
WHOLE = "loop whole"
LONGER_S = 3.0
"""After the longer of both delays what acts has acted (common practice, no source)."""


def monitor_loop(sheet: Sheet, arguments: Mapping[str, str]) -> Procedure[WiringSeen]:
    """
    The transmitter's loop open, then shorted.

    Args:
        sheet: The unit's sheet.

        arguments: `test` names the run.

    Returns:
        What the monitor did each time, held against the sheet.

    Raises:
        ValueError: the unit has no monitor, or lacks a point that it is watched by.
    """
    watch = MonitorWatch(sheet)
    yield looking(sheet, arguments.get("test", "monitor loop"), (PRESSURE,))
    points: list[PointSeen] = []
    for fault in FAULTS:
        try:
            yield from _cleared(watch, "Is the loop whole? ")
            yield from _made(watch, fault)
            points.append(_judged(watch, fault))
        except Cannot as end:
            points.append(_point(fault, "not made", Finding.NOT_FORCED, str(end)))
        yield Note(f"{'SEEN' if points[-1].is_right else 'NOT SO'}  loop {fault}: {points[-1].seen}", loud=True)
    try:
        yield from _cleared(watch, "Make the loop whole again. ")
    except Cannot as end:
        points.append(_point("whole again", watch.words, Finding.NOT_FOLLOWED, str(end)))
    return WiringSeen(points=tuple(points))


def _cleared(watch: MonitorWatch, words: str) -> Steps:
    """The loop whole, the pressure its own, the trips off."""
    yield from watch.fresh()

    def whole() -> bool:
        value = watch.latest.value(PRESSURE)
        inside = value is not None and all(trip.past(value) < 0 for trip in watch.trips.values())
        return inside and not watch.tripped

    yield from watch.until(whole, Ask(WHOLE, f"{words}Then press RESET at the unit. (Or: cannot, and why)"))


def _made(watch: MonitorWatch, fault: str) -> Steps:
    """Until something acts, or the reading has gone and both delays have passed."""
    longest_s = max(trip.delay_s for trip in watch.trips.values()) + LONGER_S
    was_pa, was_healthy = watch.latest.value(PRESSURE), watch.bit("alarm_relay")
    gone_ns: list[int] = []

    def done() -> bool:
        now_pa = watch.latest.value(PRESSURE)
        far = was_pa is None or now_pa is None or abs(now_pa - was_pa) > watch.trips[Side.HIGH].tolerance_pa
        if far or (was_healthy and not watch.bit("alarm_relay")):  # an alarm that stood before is not the loop's
            gone_ns.append(watch.at_ns)
        return bool(gone_ns) and (watch.tripped or watch.at_ns - gone_ns[0] > longest_s * 1e9)

    act = "open" if fault == "open" else "short"
    text = f"At the transmitter's terminals, one qualified person: {act} its loop. (Or: cannot, and why)"
    yield from watch.until(done, Ask(f"loop {fault}", text))


def _judged(watch: MonitorWatch, fault: str) -> PointSeen:
    monitor = watch.sheet.monitor
    wanted = None if monitor is None else monitor.open_loop if fault == "open" else monitor.shorted_loop
    acted = [f"{side} trip" for side, trip in watch.trips.items() if watch.bit(trip.alarm)]
    found = acted[0] if acted else "nothing" if watch.bit("alarm_relay") else "alarm"
    value = watch.latest.value(PRESSURE)
    reads = "no number" if value is None else f"{value / PA_PER_BAR:.1f} bar"
    seen = f"{' and '.join(acted) or found}, the monitor reads {reads}"
    if wanted is None:
        words = f"The sheet does not say what is wanted; it gives {found}. Ask the owner's engineer which is meant."
        return _point(fault, seen, Finding.PROVES_NOTHING, words)
    if found != wanted:
        return _point(fault, seen, Finding.NOT_FOLLOWED, f"The sheet wants: {wanted}.")
    return _point(fault, seen, Finding.RIGHT, f"As the sheet wants: {wanted}.")


def _point(fault: str, seen: str, finding: Finding, words: str) -> PointSeen:
    return PointSeen(role=PRESSURE, forced=f"transmitter loop {fault}", seen=seen, finding=finding, words=words)
