"""
A valve left to itself for a while (G9, M5): does it stay, does it hunt, how often does the motor start, what leaks?

One watch answers for a trapped-oil unit that should stand for hours and for a modulating one at a constant input.
"""

import math
from enum import StrEnum
from itertools import pairwise

import msgspec

from commission.analysis import edges
from commission.analysis.budget import Budget, normal, rectangular
from commission.analysis.holding import Held, hold_drift
from commission.analysis.hunting import hunting_figures
from commission.analysis.motion import LEAST_NOISE
from commission.analysis.restarts import leak, starts_in_window
from commission.engineering.stored import band_m3
from commission.engineering.unit import Unit
from commission.figure import Figure
from commission.sample import Silence
from commission.sheet import Sheet
from commission.sheet.decode import Reading, Readings

METHOD = "hold_watch.watch/1"

BLOCK_S = 10.0
"""Readings are averaged over so long: noise of single ones is not what a valve does in hours."""

_LEAST_BLOCKS = 5
_SECONDS_AN_HOUR = 3600.0


class HoldEnd(StrEnum):
    """How the watching ended."""

    DONE = "watched for the whole time"
    MOVED = "it left where it stood"


class HoldObserved(msgspec.Struct, frozen=True, kw_only=True):
    """
    What was seen of a valve that was left to itself.

    Args:
        test: Names the run.

        seen: Every sample and every silence, in order.

        ended: How the watching ended.

        why: More words about that.
    """

    test: str
    seen: tuple[Readings | Silence, ...]
    ended: HoldEnd
    why: str = ""
    timed_by: str = "samples over the link"
    commanded_by: str = "nobody"

    def track(self, role: str) -> tuple[Reading, ...]:
        """All readings of one role, in order; empty where it was not read."""
        readings = (item.get(role) for item in self.seen if isinstance(item, Readings))
        return tuple(reading for reading in readings if reading is not None)


class NothingHeld(Exception):  # the trade's word, not a fault of the program
    """Too little was seen of it to say anything."""


def hold_figures(observed: HoldObserved, sheet: Sheet) -> tuple[Figure, ...]:
    """
    Change and drift of travel, change of pressure, turns with amplitude and period, motor starts, room in the unit's
    own window of starts, and the leak where three starts or more were seen.

    Raises:
        NothingHeld: fewer than three readings of travel, or all at one time.
    """
    travel = observed.track("travel")
    if len(travel) < 3 or travel[-1].at_ns <= travel[0].at_ns:
        raise NothingHeld(f"{observed.test}: {len(travel)} readings of travel say nothing")
    last_s = 0.5 if observed.ended is HoldEnd.MOVED else BLOCK_S
    found = [_absolute(_change("travel_change_held", travel, "1", LEAST_NOISE, last_s))]
    found += _drift(travel, observed.track("oil_temperature"))
    pressure = observed.track("cylinder_pressure")
    if len(pressure) >= 2:
        found.append(_change("pressure_change_held", pressure, "Pa", 0.0))
    found += hunting_figures(travel)
    return (*found, *_starts(observed, sheet))


def _absolute(figure: Figure) -> Figure:
    return msgspec.structs.replace(
        figure, value=figure.value.removeprefix("-"), unrounded=abs(figure.unrounded)
    )  # fmt: skip


def _change(
    name: str, track: tuple[Reading, ...], unit: str, least_noise: float, last_s: float = BLOCK_S
) -> Figure:  # fmt: skip
    """The last seconds less the first ten; a change of a moment in between is in the turns."""
    first = [r.value for r in track if r.at_ns <= track[0].at_ns + BLOCK_S * 1e9]
    last = [r.value for r in track if r.at_ns >= track[-1].at_ns - last_s * 1e9]
    noise = max(least_noise, edges.typical_scatter(track))
    scatter = normal("noise of the readings", noise, math.sqrt(1 / len(first) + 1 / len(last)))
    change = math.fsum(last) / len(last) - math.fsum(first) / len(first)
    return Budget((scatter,)).figure(name, change, unit, METHOD)


def _drift(travel: tuple[Reading, ...], oil: tuple[Reading, ...]) -> tuple[Figure, ...]:
    blocks, warmth = (_blocks(track, travel[0].at_ns) for track in (travel, oil))
    if len(blocks) < _LEAST_BLOCKS:
        return ()
    return hold_drift([Held(at_s, value, warmth.get(at_s, (0.0, None))[1]) for at_s, value in blocks.values()])


def _blocks(track: tuple[Reading, ...], from_ns: int) -> dict[float, tuple[float, float]]:
    """Means over ten seconds each, by when the block begins, in seconds from the first reading."""
    grouped: dict[float, list[float]] = {}
    for reading in track:
        grouped.setdefault(BLOCK_S * ((reading.at_ns - from_ns) // round(BLOCK_S * 1e9)), []).append(reading.value)
    return {at_s: (at_s, math.fsum(values) / len(values)) for at_s, values in grouped.items()}


def _starts(observed: HoldObserved, sheet: Sheet) -> list[Figure]:
    """Starts by the unit's own counter, which misses none across a silence; else by its contactor."""
    motor, counter = observed.track("motor_running"), observed.track("starts_total")
    if len(counter) < 2 and len(motor) < 2:
        return []
    track = counter if len(counter) > 1 else motor
    hours = (track[-1].at_ns - track[0].at_ns) / 1e9 / _SECONDS_AN_HOUR
    count = round(counter[-1].value - counter[0].value) if len(counter) > 1 else edges.makings(motor)
    by = "the unit's counter" if len(counter) > 1 else "the motor's contactor"
    found = [Budget(()).figure("restarts_count", float(count), "1", METHOD, note=f"by {by}, in {hours * 60:.3g} min")]
    # Starts at even intervals, watched from any moment on: off by less than one, however the intervals fit into it.
    edge = rectangular("where the watch begins and ends", 1.0, 1 / hours)
    found.append(Budget((edge,)).figure("starts_per_hour", count / hours, "1/h", METHOD, note="if they come evenly"))
    starts_s = _start_times_s(motor)
    found.append(_room(starts_s, track[-1].at_ns / 1e9, sheet))
    if len(starts_s) > 2:
        found += _leak(starts_s, sheet)
    return found


def _start_times_s(motor: tuple[Reading, ...]) -> list[float]:
    return [
        (before.at_ns + after.at_ns) / 2e9 for before, after in pairwise(motor) if after.is_true and not before.is_true
    ]


def _room(starts_s: list[float], now_s: float, sheet: Sheet) -> Figure:
    """Starts seen in the unit's own rolling window; what happened before the watch is not in it."""
    allowed, window_s = sheet.protections.starts_allowed, sheet.protections.starts_window_min * 60
    window = starts_in_window(starts_s, now_s, window_s, allowed)
    note = f"{allowed} allowed in {window_s / 60:g} min; those before the watch are not counted"
    if not window.left:
        note += f"; the next in {window.wait_s:.0f} s"
    return Budget(()).figure("starts_in_window_count", float(window.count), "1", METHOD, note=note)


def _leak(starts_s: list[float], sheet: Sheet) -> tuple[Figure, ...]:
    try:
        volume_m3 = math.fsum(band_m3(Unit(sheet)))
    except ValueError:  # a sheet that contradicts itself has no volume to go by
        return ()
    return (leak(starts_s, volume_m3),)
