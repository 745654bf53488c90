"""
Where the baseline expects travel and pressure of a partial stroke, for its overlay.

Pressure is compared at the same travel, so its bands stand where this run was at that travel. Travel is compared by
time: out from the command, through the bands of dead time and of the times on the way; back from where this run turned.
"""

from collections.abc import Mapping

from commission.analysis.baseline import Compared
from commission.job.motions import Run
from commission.report.display import number_in
from commission.report.plot import BandAt, TravelBand
from commission.report.trace import Trace

_Within = tuple[float, float]


def pressure_bands(run: Run, trace: Trace) -> tuple[BandAt, ...]:
    """The baseline's band of each pressure, at the moment when the run was at that travel."""
    found = []
    for row in _banded(run).values():
        way, _, pct = row.figure.removesuffix("_pct").rpartition("_pressure_")
        at_s = _moment(trace, float(pct) / 100, back=way == "back") if pct.isdecimal() else None
        if at_s is not None:
            low, high = (number_in(float(text), "Pa", "bar") for text in (row.low, row.high))
            found.append(BandAt(at_s, low, high))
    return tuple(found)


def travel_bands(run: Run, trace: Trace) -> tuple[TravelBand, ...]:
    """Where the baseline expects the valve on its way out and on its way back; only what has a band there."""
    rows, target = _banded(run), _target(run)
    if not trace.travel or target is None:
        return ()
    leaves_open = trace.travel[0] > 0.5
    far = max(range(len(trace.travel)), key=lambda place: abs(trace.travel[place] - trace.travel[0]))
    turned_s, turned = trace.time_s[far], abs(trace.travel[far] - trace.travel[0])
    out = _on_the_way(rows, "out_time_") | _end(rows, "time_to_target", target)
    back = _on_the_way(rows, "back_time_") | _end(rows, "return_time", 0.0)
    begins = _seconds(rows["dead_time"]) if "dead_time" in rows else None
    ways = [({0.0: (0.0, 0.0)} | out, begins)] if out and begins is not None else []
    ways += [({turned: (0.0, 0.0)} | back, (turned_s, turned_s))] if back else []
    return tuple(_band(way, since, leaves_open=leaves_open) for way, since in ways)


def _band(way: Mapping[float, _Within], since: _Within, *, leaves_open: bool) -> TravelBand:
    """Both edges, in the order in which the valve comes by."""
    ordered = sorted(way.items(), key=lambda item: item[1])

    def edge(side: int) -> tuple[tuple[float, float], ...]:
        return tuple((since[side] + times[side], 100 * (1 - away if leaves_open else away)) for away, times in ordered)

    return TravelBand(early=edge(0), late=edge(1))


def _banded(run: Run) -> Mapping[str, Compared]:
    """What has a band, by its figure."""
    return {row.figure: row for result in run.results for row in result.compared if row.low and row.high}


def _on_the_way(rows: Mapping[str, Compared], begins: str) -> dict[float, _Within]:
    """By how far the valve is from its end, as a fraction of travel."""
    return {
        float(name.removeprefix(begins).removesuffix("_pct")) / 100: _seconds(row)
        for name, row in rows.items()
        if name.startswith(begins)
    }


def _end(rows: Mapping[str, Compared], name: str, away: float) -> dict[float, _Within]:
    return {away: _seconds(rows[name])} if name in rows else {}


def _seconds(row: Compared) -> _Within:
    return float(row.low), float(row.high)


def _target(run: Run) -> float | None:
    """How far it was to go: the farthest travel at which a pressure was taken on the way out."""
    taken = [
        float(figure.name.removeprefix("out_pressure_").removesuffix("_pct")) / 100
        for figure in run.figures
        if figure.name.startswith("out_pressure_")
    ]
    return max(taken, default=None)


def _moment(trace: Trace, away: float, *, back: bool) -> float | None:
    """When the valve was so far from where it began: first on the way out, last on the way back."""
    if not trace.travel:
        return None
    began = trace.travel[0]
    far = [time for time, travel in zip(trace.time_s, trace.travel, strict=True) if abs(travel - began) >= away]
    if not far:
        return None
    return far[-1] if back else far[0]
