"""
O2: the monitor's transmitter at five points up and down against a reference gauge; O7: once more, put back.

At each point people make the pressure with the hand test pump; the program sees it stand still, asks what the gauge
shows, and keeps the mean of the monitor's own reading. Both trips come on the way; they are expected and reset at the
end.
"""

from collections.abc import Generator, Mapping

from commission.analysis.gauge import Gauge, gauge_of
from commission.analysis.monitor import MonitorReading, MonitorSeen, equal_room_pa
from commission.analysis.trip import PRESSURE, track_of
from commission.procedures.monitor_watch import LONGEST_S, TO, Cannot, MonitorWatch
from commission.procedures.requests import Answer, Ask, Note, Procedure, Reply, Request
from commission.sheet import Sheet

GAUGE = "gauge"
SEALED = "sealed"
SECOND = "second"
POINTS = (0.0, 25.0, 50.0, 75.0, 100.0)

NEAR_SHARE = 0.03
"""A point counts as made within 3 % of the range: errors are taken where it stands (common practice, no source)."""

STILL_SHARE = 0.002
"""Still: the reading changed by no more than this share of the range in the settled time."""

SETTLED_S = 2.0
COMPARES = 3
_PA_PER_BAR = 1e5


def monitor_points(sheet: Sheet, arguments: Mapping[str, str]) -> Procedure[MonitorSeen]:
    """
    Five points up and down.

    Args:
        sheet: The unit's sheet.

        arguments: `gauge` as `analysis.gauge` reads it; `test` names the run.

    Returns:
        What was read at each.

    Raises:
        ValueError: no such gauge, or the unit lacks a point that it is watched by.
    """
    watch, gauge, test = MonitorWatch(sheet), gauge_of(arguments.get("gauge", "")), arguments.get("test", "monitor")
    yield watch.begin(test, LONGEST_S)
    legs = [(point, True) for point in POINTS] + [(point, False) for point in reversed(POINTS[:-1])]
    taken: list[MonitorReading] = []
    why = ""
    try:
        yield Note((yield from watch.ready()))
        for point, up in legs:
            taken.append((yield from _point(watch, gauge, point, up=up)))
        yield from watch.normal()
    except Cannot as end:
        why = str(end)
    return MonitorSeen(test=test, gauge=gauge, readings=tuple(taken), wanted=len(legs), why=why)


def monitor_back(sheet: Sheet, arguments: Mapping[str, str]) -> Procedure[MonitorSeen]:
    """
    Put back: root valve open and sealed, seen by a second person, monitor equal to an independent gauge.

    Args:
        sheet: The unit's sheet.

        arguments: As for `monitor_points`.

    Returns:
        The last comparison; none where it was not made equal, so that the block is not concluded.

    Raises:
        ValueError: as for `monitor_points`.
    """
    watch, gauge, test = MonitorWatch(sheet), gauge_of(arguments.get("gauge", "")), arguments.get("test", "put back")
    yield watch.begin(test, LONGEST_S)
    taken: list[MonitorReading] = []
    words = why = ""
    try:
        yield from watch.watch_for(0.5)
        words = yield from _sealed()
        taken.append((yield from _equal(watch, gauge)))
        if watch.tripped:
            yield from watch.reset()
    except Cannot as end:
        why = str(end)
    return MonitorSeen(test=test, gauge=gauge, readings=tuple(taken), wanted=1, why=why, put_back=words)


def _point(watch: MonitorWatch, gauge: Gauge, point: float, *, up: bool) -> Generator[Request, Reply, MonitorReading]:
    range_bar = range_of(watch.sheet)
    target = round(point / 100 * range_bar, 2)
    side = "up" if up else "down"
    yield Note(f"asked: {point:g} % {side}", loud=True)
    text = f"{point:g} % {side}: bring the sensing line to {target:g} bar and hold it. (Or: cannot, and why)"
    near = max(NEAR_SHARE * range_bar * _PA_PER_BAR, 2 * STILL_SHARE * range_bar * _PA_PER_BAR)
    watch.keep(SETTLED_S)
    yield from watch.take()
    yield from watch.until(
        lambda: abs(watch.level_pa() - target * _PA_PER_BAR) <= near and settled(watch),
        Ask(TO, text, unit="bar", target=target),
    )
    return (yield from _read_off(watch, gauge, f"{point:g} % {side}", point, up=up))


def _read_off(
    watch: MonitorWatch, gauge: Gauge, where: str, point: float, *, up: bool
) -> Generator[Request, Reply, MonitorReading]:
    """The gauge, and the monitor over the settled time after it was read."""
    high = gauge.accuracy.high
    while True:
        value = yield from watch.number(GAUGE, f"{where}: gauge {gauge.id} reads, in bar", "bar", 0.0, high)
        watch.keep(SETTLED_S)
        yield from watch.watch_for(SETTLED_S)
        if settled(watch):
            break
        yield Note(f"{where}: it was not still while it was read: read it again", loud=True)
        yield from watch.watch_for(SETTLED_S)
    values = [reading.value for reading in track_of(watch.kept, PRESSURE)]
    mean_pa = sum(values) / len(values)
    yield Note(f"taken: {where}, gauge {value:g} bar, monitor {mean_pa / _PA_PER_BAR:.2f} bar", loud=True)
    return MonitorReading(point_pct=point, up=up, gauge_bar=value, reading_pa=mean_pa, noise_pa=watch.noise_pa())


def range_of(sheet: Sheet) -> float:
    """The monitor's range, in bar; 0 without one."""
    return 0.0 if sheet.monitor is None else sheet.monitor.range_bar


def settled(watch: MonitorWatch) -> bool:
    """Whether the reading has stood still for the settled time."""
    kept = watch.kept
    if len(kept) < 2 or kept[-1].at_ns - kept[0].at_ns < 0.8 * SETTLED_S * 1e9:
        return False
    values = [reading.value for reading in track_of(kept, PRESSURE)]
    return bool(values) and max(values) - min(values) <= STILL_SHARE * range_of(watch.sheet) * _PA_PER_BAR


def _sealed() -> Generator[Request, Reply, str]:
    """Who opened and sealed the root valve, and who else saw it: two people."""
    text = "Vent shut, root valve OPEN and sealed. Type: the seal's number; who did it. (Or: cannot, and why)"
    yield Note(f"NEXT  {text}", loud=True)
    while True:
        parts = _parts((yield Ask(SEALED, text)))
        if len(parts) == 2 and all(parts):
            break
        yield Note("the seal's number and who did it are both needed; asked again", loud=True)
    text = "A second person goes and looks: valve open, seal whole, vent shut. Their name. (Or: cannot, and why)"
    yield Note(f"NEXT  {text}", loud=True)
    while True:
        second = _parts((yield Ask(SECOND, text)))[0]
        if second and second.lower() != parts[1].lower():
            break
        yield Note(f"{second or 'nobody'} cannot be the second person; asked again", loud=True)
    return f"Root valve open, seal {parts[0]}, by {parts[1]}, seen by {second}"


def _parts(said: Reply) -> list[str]:
    text = said.text.strip() if isinstance(said, Answer) else ""
    if text.lower().startswith("cannot"):
        raise Cannot(text)
    return [part.strip() for part in text.split(";")]


def _equal(watch: MonitorWatch, gauge: Gauge) -> Generator[Request, Reply, MonitorReading]:
    """Compare until it is equal within both tolerances; the third time it is kept as it is."""
    watch.keep(SETTLED_S)
    yield from watch.watch_for(SETTLED_S)
    for number in range(1, COMPARES + 1):
        known = yield from _read_off(watch, gauge, "put back", 0.0, up=True)
        room = equal_room_pa(watch.sheet, gauge, known.gauge_bar)
        if abs(known.error_pa) <= room:
            return known
        words = (
            f"monitor and gauge differ by {known.error_pa / _PA_PER_BAR:+.2f} bar, more than {room / _PA_PER_BAR:.2f}"
        )
        yield Note(f"NOT SO  {words}. Is the root valve open?", loud=True)
        if number == COMPARES:
            raise Cannot(words)
    raise Cannot("monitor and gauge were not compared")
