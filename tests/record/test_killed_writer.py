"""A program that is killed loses nothing that it was told is stored."""

import subprocess
import sys
from pathlib import Path
from random import Random

import pytest

from commission.clock import Clock
from commission.record.chain import check_chain
from commission.record.writer import Recorder

_ROOT = Path(__file__).parents[2]


def kill_once(path: Path, random: Random) -> int:
    """Start a writer, kill it after a seeded number of acknowledgements; returns the last one that it gave."""
    command = [sys.executable, "-m", "tests.record.killed_writer", str(path)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, cwd=_ROOT) as child:
        assert child.stdout is not None
        acknowledged = 0
        for _ in range(random.randint(1, 120)):
            acknowledged = int(child.stdout.readline())
        child.kill()
        last_words = [line for line in child.stdout.read().split(b"\n")[:-1] if line]
    return max([acknowledged, *map(int, last_words)])


def kill_again_and_again(path: Path, seed: int, kills: int) -> int:
    """Kill a writer so many times, on one file; each time nothing may be lost. Returns the events acknowledged."""
    random = Random(seed)
    for kill in range(kills):
        acknowledged = kill_once(path, random)
        report = check_chain(path)
        assert report.intact, (kill, report.sentences)
        assert report.last >= acknowledged, kill
        assert report.unnamed_chunks == ()
        with Recorder(path, session="after", clock=Clock()) as recorder:
            assert recorder.n == report.last
            assert recorder.append("reopened", {}, by="T").committed.result(10)
    return check_chain(path).last


@pytest.mark.slow
def test_thirty_kills_lose_nothing(tmp_path: Path) -> None:
    """Killed at thirty seeded moments, each acknowledged event is there and the file is reopened and gone on with."""
    assert kill_again_and_again(tmp_path / "a.job", seed=30, kills=30) > 300
