"""
How soon a key is painted and how even the polling is: both in the same stroke, while its trace is drawn.

The real app at a real pseudo-terminal, at a practice unit in a process of its own that answers in 1 ms, as a quick unit
on Ethernet does, so that the app polls at its own fastest, 100 Hz. After each stroke bare programs (`bare`) do what the
app did and nothing else: echo keys, and read the same registers at the same pace. On a quiet machine the goals hold as
they stand; how much worse the bare programs are where it is not quiet is printed and allowed for. Marked `alone`:
`.ci/run` starts it when nothing else runs.
"""

import itertools
import random
import sys
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest

from commission.record.reader import Reader
from commission.sample import ReadPlan, Sample
from commission.supervise.linked_unit import FASTEST_S
from tests.benchmarks import bare
from tests.benchmarks.at_terminal import AtTerminal
from tests.journeys.records import archive
from tests.journeys.short_walk import CONFIRM

KEY_GOAL_S = 0.020
POLL_GOAL = 1.25
ROUNDS = 4
"""One good stroke shows what the program can do; a bad one may be the machine's."""

QUIET_ECHO_S = 0.008
QUIET_POLL = 1.15
"""What the bare programs stay within, at their p99, on two cores with nothing else on them: nothing is allowed then."""

BUSY_ECHO_S = 0.015
BUSY_POLL = 1.6
"""Beyond either, the bare programs show a machine on which nothing can be judged."""

KEYS, LEAST_KEYS = 160, 100
"""Or there is no 99th of a hundred."""

BARE_CYCLES = 400

QUICK_UNIT = f"""
import sys
from commission.practice import process
started = process.subprocess.Popen
process.subprocess.Popen = lambda command, **how: started(
    [command[0], "-c", "import sys; {bare.QUICK}; sys.exit(main(sys.argv[1:]))", *command[3:]], **how
)
from commission.cli import main
sys.exit(main(sys.argv[1:]))
"""


class Stroke(msgspec.Struct):
    """What was measured in one stroke, in seconds: key to paint, stop key to paint, sample to sample; what was read."""

    waits: list[float]
    stop_s: float
    intervals: list[float]
    plan: ReadPlan


class Machine(msgspec.Struct):
    """What bare programs reach right after it, in seconds: key to echo, reading to reading."""

    echoes: list[float]
    intervals: list[float]

    @property
    def busy(self) -> bool:
        """Whether other work takes so much of it that the app's part cannot be told."""
        return share(self.echoes, 0.99) > BUSY_ECHO_S or share(self.intervals, 0.99) > BUSY_POLL * FASTEST_S

    @property
    def key_limit_s(self) -> float:
        """Of a key: the goal, and what a bare echo loses here."""
        return KEY_GOAL_S + max(0.0, share(self.echoes, 0.99) - QUIET_ECHO_S)

    @property
    def poll_limit_s(self) -> float:
        """Of an interval: the goal, as many times as a bare client is worse here than on a quiet machine."""
        return POLL_GOAL * max(FASTEST_S, share(self.intervals, 0.99) / QUIET_POLL)


def one_stroke(folder: Path) -> Stroke:
    """From the command to the end of the stroke."""
    app = AtTerminal("-c", QUICK_UNIT, "practice", "--out", str(folder))
    try:
        to_the_stroke(app)
        waits, stop_s = keys_in_the_stroke(app), stop_key(app)
    finally:
        app.end()
    return Stroke(waits, stop_s, *polled(folder))


def the_machine(plan: ReadPlan) -> Machine:
    """What bare programs reach now."""
    moments = bare.poll_moments(plan, FASTEST_S, BARE_CYCLES)
    return Machine(bare.echoes(KEYS, 0.02), steps(moments))


def steps(moments: list[float]) -> list[float]:
    """From each to the next."""
    return [after - before for before, after in itertools.pairwise(moments)]


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


def keys_in_the_stroke(app: AtTerminal) -> list[float]:
    """Keys that do nothing in a motion, which is said of each, until shortly before the stroke's end."""
    draw = random.Random(20261126)
    waits: list[float] = []
    for key in itertools.cycle("abdefijklmnop"):
        waited_s = app.key_to_paint(key, f"{key.upper()} does nothing")
        if waited_s is None or len(waits) == KEYS:
            return waits
        waits.append(waited_s)
        app.read_for(draw.uniform(0.01, 0.05))  # at no fixed phase of the drawing
    raise AssertionError("a cycle has no end")


def stop_key(app: AtTerminal) -> float:
    """From the stop key to what is said about it."""
    waited_s = app.key_to_paint(" ", "SPACE seen 1 x")
    assert waited_s is not None
    return waited_s


def polled(folder: Path) -> tuple[list[float], ReadPlan]:
    """Wire seconds between the samples of the stroke, from the record, and what was read for each."""
    (job,) = folder.glob("*.job")
    run = list(archive(job).job.runs.values())[-1]
    with Reader(job) as reader:
        items = [item for stored in run.chunks for item in reader.samples(stored.chunk).items]
    return steps([item.at_ns / 1e9 for item in items if isinstance(item, Sample)]), run.begun.plan


def share(values: list[float], part: float) -> float:
    """The value below which this part of the values lies."""
    return sorted(values)[min(len(values) - 1, int(len(values) * part))]


def told(number: int, stroke: Stroke, machine: Machine) -> str:
    """The figures of a stroke, those of the bare programs behind them."""
    keys, bare_keys = in_ms(stroke.waits), in_ms(machine.echoes)
    polls, bare_polls = in_periods(stroke.intervals), in_periods(machine.intervals)
    return (
        f"\nstroke {number}: {len(keys)} keys to paint p50 {share(keys, 0.5):.1f} p99 {share(keys, 0.99):.1f} ms "
        f"(goal {KEY_GOAL_S * 1e3:.0f}, here {machine.key_limit_s * 1e3:.1f}), stop key {stroke.stop_s * 1e3:.1f} ms; "
        f"a bare echo after {bare.KEY_S * 1e3:.0f} ms of work p99 {share(bare_keys, 0.99):.1f} ms\n"
        f"          {len(polls)} polls p50 {share(polls, 0.5):.2f} p99 {share(polls, 0.99):.2f} of target "
        f"(goal {POLL_GOAL}, here {machine.poll_limit_s / FASTEST_S:.2f}); "
        f"a bare client p99 {share(bare_polls, 0.99):.2f}, ratio {share(polls, 0.99) / share(bare_polls, 0.99):.2f}\n"
    )


def in_ms(seconds: list[float]) -> list[float]:
    """As milliseconds."""
    return [value * 1e3 for value in seconds]


def in_periods(seconds: list[float]) -> list[float]:
    """As parts of the target."""
    return [value / FASTEST_S for value in seconds]


def painted(stroke: Stroke, machine: Machine) -> bool:
    """Whether keys were painted soon enough."""
    return share(stroke.waits, 0.99) <= machine.key_limit_s


def even(stroke: Stroke, machine: Machine) -> bool:
    """Whether the polling was even enough."""
    return share(stroke.intervals, 0.99) <= machine.poll_limit_s


def judge(folder: Path, *goals: Callable[[Stroke, Machine], bool]) -> None:
    """Measure strokes until one meets all goals; not decided where the machine was busy in each."""
    judged = False
    for number in range(1, ROUNDS + 1):
        stroke = one_stroke(folder / f"jobs-{number}")
        machine = the_machine(stroke.plan)
        sys.stdout.write(told(number, stroke, machine))
        assert len(stroke.waits) >= LEAST_KEYS
        if all(goal(stroke, machine) for goal in goals):
            return
        judged = judged or not machine.busy
    if not judged:
        pytest.skip(
            "NOT DECIDED: other work on this machine keeps the bare programs from it too; the figures are above"
        )
    raise AssertionError("in no stroke the goals were reached; what was measured is printed above")


@pytest.mark.alone
@pytest.mark.timeout(240)
def test_a_key_is_painted_within_20_ms_while_polling_at_100_hz(tmp_path: Path) -> None:
    """Key to painted change p99 under 20 ms while the trace is drawn; judged on the best of some strokes."""
    judge(tmp_path, painted)


@pytest.mark.alone
@pytest.mark.timeout(240)
def test_polls_are_even_while_keys_are_painted_and_the_trace_is_drawn(tmp_path: Path) -> None:
    """In one stroke both: poll interval p99 within 1.25 of its target of 10 ms, and keys as above."""
    judge(tmp_path, even, painted)
