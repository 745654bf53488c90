"""
How soon a key is painted and how even the polling is: both in the same stroke, while its trace is drawn.

The real app at a real pseudo-terminal, at a practice unit in a process of its own that answers in 1 ms, as a quick unit
on Ethernet does, so that the app polls at its own fastest, 100 Hz. Beside each key a bare program at a pseudo-terminal
is timed, which works for 5 ms of processor time and then echoes: what it takes longer is the machine's doing (two cores
with other work on them take tens of milliseconds), is printed with the result, and is allowed for. Marked `alone`:
`.ci/run` starts it when nothing else runs.
"""

import itertools
import random
import sys
from pathlib import Path

import pytest

from commission.record.reader import Reader
from commission.sample import Sample
from commission.supervise.linked_unit import FASTEST_S
from tests.benchmarks.at_terminal import AtTerminal
from tests.journeys.records import archive
from tests.journeys.short_walk import CONFIRM

KEY_GOAL_S = 0.020
POLL_GOAL = 1.25
ROUNDS = 4
"""One good stroke shows what the program can do; a bad one may be the machine's."""

BARE_S = 0.005
"""What the bare program works for a key; about what a repainted screen takes."""

TURNS = 2
"""A key is taken and then painted, a poll goes through two programs: each waits this often for its turn."""

LEAST_KEYS = 100
"""Or there is no 99th of a hundred."""

QUICK_UNIT = """
import sys
from commission.practice import process
unit = "import commission.practice.server as s; s.TURNAROUND_S = 0.001; from commission.practice.__main__ import main"
started = process.subprocess.Popen
process.subprocess.Popen = lambda command, **how: started(
    [command[0], "-c", f"import sys; {unit}; sys.exit(main(sys.argv[1:]))", *command[3:]], **how
)
from commission.cli import main
sys.exit(main(sys.argv[1:]))
"""

ECHO = """
import os, time, tty
tty.setraw(0)
os.write(1, b"ready")
while (key := os.read(0, 100)) != b"\\x11":
    until = time.thread_time() + 0.005
    while time.thread_time() < until:
        pass
    os.write(1, b"<" + key + b">")
"""


def one_stroke(folder: Path) -> tuple[list[float], list[float], float]:
    """From the command to the end of the stroke: waits for keys, for the bare program, for the stop key."""
    app, bare = AtTerminal("-c", QUICK_UNIT, "practice", "--out", str(folder)), AtTerminal("-c", ECHO)
    try:
        bare.until("ready")
        to_the_stroke(app)
        return *keys_in_the_stroke(app, bare), stop_key(app)
    finally:
        bare.end()
        app.end()


def to_the_stroke(app: AtTerminal) -> None:
    """By keys alone, as a person."""
    app.until("none yet")
    app.type("o")
    app.until("press the stop key now")
    app.type(" ")
    app.until("Ready?")
    while "confirm this movement" not in app.seen.decode(errors="replace"):
        app.type("\r")  # the cautions may be longer than a page; Enter alone moves nothing
        app.read_for(0.5, b"confirm this movement")
    app.read_for(0.2)
    app.type(CONFIRM, 0.02)
    app.seen = b""
    app.type("\r")
    app.until("MOVING")


def keys_in_the_stroke(app: AtTerminal, bare: AtTerminal) -> tuple[list[float], list[float]]:
    """Keys that do nothing in a motion, which is said of each, until shortly before the stroke's end."""
    draw = random.Random(20261126)
    waits: list[float] = []
    floor: list[float] = []
    for key in itertools.cycle("abcdefijklmnop"):
        waited_s = app.key_to_paint(key, f"{key.upper()} does nothing")
        echoed_s = bare.key_to_paint(key, f"<{key}>")
        if waited_s is None or echoed_s is None or len(waits) == 160:
            return waits, floor
        waits.append(waited_s)
        floor.append(echoed_s)
        app.read_for(draw.uniform(0.005, 0.04))  # at no fixed phase of the drawing
    raise AssertionError("a cycle has no end")


def stop_key(app: AtTerminal) -> float:
    """From the stop key to what is said about it."""
    waited_s = app.key_to_paint(" ", "SPACE seen 1 x")
    assert waited_s is not None
    return waited_s


def poll_intervals(folder: Path) -> list[float]:
    """Wire seconds between the samples of the stroke, from the record."""
    (job,) = folder.glob("*.job")
    run = list(archive(job).job.runs.values())[-1]
    with Reader(job) as reader:
        items = [item for stored in run.chunks for item in reader.samples(stored.chunk).items]
    at_ns = [item.at_ns for item in items if isinstance(item, Sample)]
    return [(after - before) / 1e9 for before, after in itertools.pairwise(at_ns)]


def share(values: list[float], part: float) -> float:
    """The value below which this part of the values lies."""
    return sorted(values)[min(len(values) - 1, int(len(values) * part))]


@pytest.mark.alone
def test_a_key_is_painted_within_20_ms_while_polling_at_100_hz(tmp_path: Path) -> None:
    """
    In one stroke: key to painted change p99 under 20 ms, poll interval p99 within 1.25 of its target of 10 ms.

    Judged on the best of some strokes; to both limits is added the machine's part at its p99.
    """
    for number in range(1, ROUNDS + 1):
        folder = tmp_path / f"jobs-{number}"
        waits, floor, stop_s = one_stroke(folder)
        intervals = poll_intervals(folder)
        machine_s = TURNS * max(0.0, share(floor, 0.99) - BARE_S)
        sys.stdout.write(
            f"\nstroke {number}: {len(waits)} keys to paint p50 {share(waits, 0.5) * 1e3:.1f} "
            f"p99 {share(waits, 0.99) * 1e3:.1f} ms, "
            f"stop key {stop_s * 1e3:.1f} ms, the machine's part p99 {machine_s * 1e3:.1f} ms;"
            f" {len(intervals)} polls, interval p50 {share(intervals, 0.5) * 1e3:.2f} "
            f"p99 {share(intervals, 0.99) * 1e3:.2f} ms, {share(intervals, 0.99) / FASTEST_S:.2f} of target\n"
        )
        assert len(waits) >= LEAST_KEYS
        painted = share(waits, 0.99) <= KEY_GOAL_S + machine_s
        even = share(intervals, 0.99) <= POLL_GOAL * FASTEST_S + machine_s
        if painted and even:
            return
    raise AssertionError("in no stroke both goals were reached; what was measured is printed above")
