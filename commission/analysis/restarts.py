"""
Motor starts and what they tell: how many fit into the unit's window, how much leaks, how much pump a stroke costs.

A leak that nobody can see starts the motor each hour: usable oil between cut-out and cut-in, times starts an hour, is
the leak.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

import msgspec

from commission.analysis.budget import Budget, readings, rectangular
from commission.figure import Figure

METHOD = "restarts.log/1"

_SECONDS_AN_HOUR = 3600.0


class Window(msgspec.Struct, frozen=True):
    """
    Starts within a rolling window.

    Args:
        count: How many lie in it now.

        left: How many more are allowed now.

        wait_s: Seconds until the next is allowed; 0 where one is now.
    """

    count: int
    left: int
    wait_s: float


def starts_in_window(starts_s: Sequence[float], now_s: float, window_s: float, allowed: int) -> Window:
    """
    Starts that count at `now_s`: those later than `now_s` − `window_s`; one exactly that old has left the window.

    Args:
        starts_s: Times of the starts, in any order; later ones than now do not count.

        now_s: The time asked about, on the same clock.

        window_s: Length of the window.

        allowed: How many starts the unit allows in it.

    Raises:
        ValueError: the window or the number allowed is not above zero.

    Source: guide of the unit's own count and window; the half-open window is our definition.
    """
    if not window_s > 0 or allowed < 1:
        raise ValueError(f"a window above zero and at least one start allowed, not {allowed} in {window_s} s")
    inside = sorted(start for start in starts_s if now_s - window_s < start <= now_s)
    left = max(0, allowed - len(inside))
    wait_s = 0.0 if left else inside[len(inside) - allowed] + window_s - now_s
    return Window(len(inside), left, wait_s)


def leak(starts_s: Sequence[float], volume_a_start_m3: float, volume_doubt: float = 0.2) -> Figure:
    """
    Leak rate from the times between restarts at rest, in cubic metres an hour.

    Args:
        starts_s: Times of restarts with nothing commanded in between, in order; at least three.

        volume_a_start_m3: Oil given between cut-out and cut-in, accumulator and compression together
            (`engineering.stored.band_m3`).

        volume_doubt: How far that volume may be wrong, as a share of it (switching bands, trapped air).

    Raises:
        ValueError: fewer than three starts, or not in order.

    Source: Q = ΔV·N/h (trade guide 4.12, common practice); scatter of the intervals by JCGM 100:2008, 4.2.3.
    """
    intervals = [after - before for before, after in pairwise(starts_s)]
    if len(intervals) < 2 or min(intervals) <= 0:
        raise ValueError("at least three restarts, in order of time")
    mean_s = math.fsum(intervals) / len(intervals)
    rate = volume_a_start_m3 * _SECONDS_AN_HOUR / mean_s
    lines = (
        readings("time between restarts", intervals, rate / mean_s),
        rectangular("oil given between cut-out and cut-in", volume_a_start_m3 * volume_doubt, rate / volume_a_start_m3),
    )
    note = f"{len(starts_s)} restarts, one in {mean_s / _SECONDS_AN_HOUR:.2g} h"
    return Budget(lines).figure("leak_rate", rate, "m³/h", METHOD, note=note)


def run_per_travel(motor_run: Figure, travel_share: float) -> Figure:
    """
    Seconds of motor run for one full travel: more with a slipping pump, a blowing relief, a filling accumulator.

    Args:
        motor_run: Its time with uncertainty, in seconds.

        travel_share: How far the valve went, as a share of full travel; above zero.

    Raises:
        ValueError: the valve did not move.
    """
    if not travel_share > 0:
        raise ValueError("no travel to set the motor's run against")
    spread = rectangular("motor run", float(motor_run.uncertainty_decimal) / 0.95, 1 / travel_share)
    return Budget((spread,)).figure("motor_run_per_travel", motor_run.unrounded / travel_share, "s", METHOD)
