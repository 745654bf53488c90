"""How long the program takes to answer at all, against the bare interpreter."""

import statistics
import subprocess
import sys
import time

import pytest

_RUNS = 7
BARE = ("-I", "-c", "pass")


def _once_s(arguments: tuple[str, ...]) -> float:
    began_s = time.perf_counter()
    subprocess.run([sys.executable, *arguments], check=True, capture_output=True)
    return time.perf_counter() - began_s


@pytest.mark.parametrize(("words", "goal"), [("--version", 3.0), ("--help", 6.0)])
def test_the_first_words_come_at_once(words: str, goal: float) -> None:
    """
    Median start over the median of the bare interpreter, measured in turns; compiled files are there before.

    The goal is 3 for the version and 6 for the help; a loaded machine gets half as much again.
    """
    command = ("-m", "commission", words)
    _once_s(command)
    bare, ours = [], []
    for _ in range(_RUNS):
        bare.append(_once_s(BARE))
        ours.append(_once_s(command))
    ratio = statistics.median(ours) / statistics.median(bare)
    sys.stdout.write(
        f"\n{words}: {statistics.median(ours) * 1000:.0f} ms, "
        f"interpreter {statistics.median(bare) * 1000:.0f} ms, ratio {ratio:.2f}\n"
    )
    assert ratio <= 1.5 * goal
