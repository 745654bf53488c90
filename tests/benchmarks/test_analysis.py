"""What the figures of a stroke cost on a trace of 100,000 samples, against plain NumPy passes over the same one."""

import random
import statistics
import sys
import time
import tracemalloc
from collections.abc import Callable

import msgspec
import numpy as np
import pytest

from commission.analysis import motion
from commission.analysis.observed import StrokeEnd, StrokeObserved, longest_step_ns
from commission.analysis.timing import stroke_figures
from commission.sample import Outcome, Written
from commission.sheet import End
from commission.sheet.decode import Reading, Readings
from tests.analysis.seen import SHEET

SAMPLES = 100_000
SECONDS = 11.0
ROLES = (
    "travel", "open_limit", "closed_limit", "cylinder_pressure", "motor_running", "motor_current", "supply_voltage",
    "oil_temperature",
)  # fmt: skip


def long_trace(samples: int) -> StrokeObserved:
    """A closing stroke of eight seconds, read up to nine thousand times a second with noise."""
    random_ = random.Random(1)
    seen = []
    for number in range(samples):
        at_s = number * SECONDS / samples
        done = min(1.0, max(0.0, (at_s - 1.9) / 8.0))
        at_ns = round(at_s * 1e9)
        values = (
            1 - done + random_.gauss(0, 3e-4),
            done < 0.02,
            done >= 0.98,
            53e5 - 28e5 * done + random_.gauss(0, 5e3),
        )
        shown = zip(ROLES, (*map(float, values), 0.0, 0.0, 25.0, 12.0), strict=True)
        seen.append(Readings(number + 1, at_ns, {role: Reading(value, at_ns, 0) for role, value in shown}))
    return StrokeObserved(
        test="K1 closed 1",
        direction=End.CLOSED,
        command=Written(1_500_000_000, 1000, Outcome.ANSWERED),
        seen=tuple(seen),
        ended=StrokeEnd.HOME,
    )


def plain_passes(observed: StrokeObserved) -> list[float]:
    """What anybody would write: each role into arrays; of each, level, noise, steps, bends, extremes, crossings."""
    found: list[float] = []
    for role in ROLES:
        track = [reading for item in observed.seen if isinstance(item, Readings) and (reading := item.get(role))]
        values = np.array([reading.value for reading in track])
        times = np.array([reading.at_ns for reading in track])
        for share in (0.1, 0.25, 0.5, 0.75, 0.9):
            level = values.min() + share * (values.max() - values.min())
            found.append(float(times[int(np.argmax(values > level))]))
        found += [float(f(values)) for f in (np.mean, np.std, np.max, np.min)]
        found += [float(np.median(np.diff(times))), float(np.median(np.abs(np.diff(values, 2))))]
        found.append(float(np.polyfit(times[:1000] - times[0], values[:1000], 1)[0]))
    return found


def _fresh(observed: StrokeObserved) -> StrokeObserved:
    """The same stroke with nothing computed of it yet."""
    for remembered in (motion.travel_noise, motion.run_backwards, longest_step_ns):
        remembered.cache_clear()
    return msgspec.structs.replace(observed)


def _seconds(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def _peak_bytes(work: Callable[[], object]) -> int:
    tracemalloc.start()
    work()
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return peak


@pytest.mark.slow
def test_a_long_trace_costs_a_few_plain_passes() -> None:
    """
    Time and memory of all figures over those of plain passes that read the same readings; processor time, in turns.

    All stored figures are exactly rounded sums in plain Python (the same digits on every machine), which is what the
    ratio pays for. A stroke of a real visit has 200 to 3,000 samples.
    """
    observed, fewer = long_trace(SAMPLES), long_trace(SAMPLES // 5)
    ours, plain = [], []
    for _ in range(2):
        plain.append(_seconds(lambda: plain_passes(observed)))
        ours.append(_seconds(lambda: stroke_figures(_fresh(observed), SHEET)))
    time_ratio = statistics.median(ours) / statistics.median(plain)
    memory_ratio = _peak_bytes(lambda: stroke_figures(_fresh(fewer), SHEET)) / _peak_bytes(lambda: plain_passes(fewer))
    sys.stdout.write(
        f"\n{SAMPLES} samples: figures {statistics.median(ours):.2f} s, plain passes {statistics.median(plain):.2f} s,"
        f" ratio {time_ratio:.1f}; memory ratio {memory_ratio:.1f}\n"
    )
    assert len(stroke_figures(fewer, SHEET)) >= 20
    assert time_ratio <= 12
    assert memory_ratio <= 20
