"""Stretches of a monitor's samples, made of a pressure over time: what trip figures are tested with."""

import random
from collections.abc import Callable

from commission.analysis.trip import Side
from commission.sheet.decode import Reading, Readings

PERIOD_S = 0.1
HALF_S = 0.003


def stretch(  # a whole scene
    pressure_bar: Callable[[float], float],
    last_s: float,
    *,
    trip_s: float | None = None,
    side: Side = Side.HIGH,
    period_s: float = PERIOD_S,
    noise_bar: float = 0.0,
    scan_s: float = 0.02,
    seed: int = 0,
    first_s: float = 0.0,
) -> tuple[Readings, ...]:
    """
    Samples from `first_s` to `last_s`: each reads within ± 3 ms of its time what the last scan saw.

    Args:
        pressure_bar: The monitor's pressure over time.

        last_s: The end.

        trip_s: When the trip came; None for never.

        side: Which trip.

        period_s: Between two samples.

        noise_bar: Standard deviation of a reading.

        scan_s: What is read is up to so old.

        seed: Of noise and phase.

        first_s: The beginning.
    """
    chance = random.Random(seed)
    found: list[Readings] = []
    at_s = first_s + chance.random() * period_s
    while at_s < last_s:
        read_s = at_s + chance.uniform(-HALF_S, HALF_S) - chance.random() * scan_s
        value = pressure_bar(read_s) + (chance.gauss(0, noise_bar) if noise_bar else 0.0)
        at_ns, half_ns = round(at_s * 1e9), round(HALF_S * 1e9)
        tripped = float(trip_s is not None and read_s >= trip_s)
        by_role = {
            "pipeline_pressure": Reading(value * 1e5, at_ns, half_ns),
            f"alarm_{side}_trip": Reading(tripped, at_ns, half_ns),
        }
        found.append(Readings(len(found) + 1, at_ns, by_role))
        at_s += period_s
    return tuple(found)
