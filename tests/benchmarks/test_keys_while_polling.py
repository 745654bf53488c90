"""How long a key takes to be painted, and how even the polling is, in one and the same stroke of a practice unit."""

import itertools
import random
import statistics
import sys
from pathlib import Path

import pytest

from commission.record.reader import Reader
from commission.sample import Sample
from tests.benchmarks.at_terminal import AtTerminal, at_terminal
from tests.journeys.records import archive
from tests.journeys.short_walk import CONFIRM
from tests.journeys.screen import body_of

def test_a_key_is_painted_at_once_and_the_polling_is_even(tmp_path: Path) -> None:
    folder = tmp_path / "jobs"
    with at_terminal("practice", "--out", str(folder)) as there:
        there.until("none yet")
        there.type("o")
        there.until("press the stop key now")
        there.type(" ")
        there.until("Ready?")
        there.seen = b""
        there.type("\r")
        there.read_for(1.0)
        if b"Ready?" in there.seen: there.type("\r")
        there.until("confirm this movement")
        there.type(CONFIRM, 0.02)
        there.read_for(0.5)
        there.seen=b""
        there.type("\r")
        there.until("travel ")
        draw = random.Random(5)
        waits = []
        keys = itertools.cycle("abcdefhijklmnop")
        while len(waits) < 250:
            key = next(keys)
            w = there.key_to_paint(key, f"{key.upper()} does nothing", 1.0)
            if w is None:
                break
            waits.append(w)
            there.read_for(draw.uniform(0.005, 0.04))
        print(len(waits), b"P A S S" in there.seen)
        ms = sorted(x * 1000 for x in waits)
        print("p50 %.1f p90 %.1f p99 %.1f max %.1f" % (ms[len(ms)//2], ms[int(len(ms)*.9)], ms[int(len(ms)*.99)], ms[-1]))
        there.until("P A S S")
    (job,) = folder.glob("*.job")
    held = archive(job).job
    run = list(held.runs.values())[-1]
    print(run.begun.run, [ (c.count) for c in run.chunks])
    with Reader(job) as reader:
        items = [item for stored in run.chunks for item in reader.samples(stored.chunk).items]
    at = [i.at_ns for i in items if isinstance(i, Sample)]
    d = sorted((b - a) / 1e6 for a, b in itertools.pairwise(at))
    print("poll n %d p50 %.2f p90 %.2f p99 %.2f max %.2f ms" % (len(d), d[len(d)//2], d[int(len(d)*.9)], d[int(len(d)*.99)], d[-1]))
