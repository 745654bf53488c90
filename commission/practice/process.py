"""
A practice unit as a process of its own, so that a killed program leaves a moving valve behind, as in life.

The unit ends by itself when nobody has asked it anything for ten minutes.
"""

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import msgspec

from commission.practice.condition import HEALTHY, Condition
from commission.practice.serve import ServedAt
from commission.practice.setup import Setup

_END_S = 5.0


class NotStarted(RuntimeError):
    """The practice unit did not come up; the text is what it said."""


class PracticeProcess:
    """
    A practice unit that runs.

    Args:
        process: The process.

        at: Where it is served.
    """

    def __init__(self, process: "subprocess.Popen[bytes]", at: ServedAt) -> None:
        self._process = process
        self.at = at

    @property
    def pid(self) -> int:
        """Number of the process."""
        return self._process.pid

    @property
    def running(self) -> bool:
        """Whether it still runs."""
        return self._process.poll() is None

    def end(self) -> int:
        """Ask it to end and wait; returns its exit status."""
        self._process.terminate()
        try:
            self._process.wait(_END_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        for stream in (self._process.stdout, self._process.stderr):
            if stream is not None:
                stream.close()
        return int(self._process.returncode)


def start(
    sheet: Path,
    url: str = "tcp://127.0.0.1:0",
    *,
    speed: float = 1.0,
    seed: int = 0,
    start_at: str = "closed",
    condition: Condition = HEALTHY,
    setup: Setup | None = None,
    meters: bool = False,
) -> PracticeProcess:
    """
    Start a practice unit in a process and a session of its own.

    Args:
        sheet: File of the unit's sheet.

        url: As for `serve`.

        speed: Unit time a second of wire time.

        seed: Of the unit's noise.

        start_at: `closed` or `open`.

        condition: Planted findings, where there is no set-up.

        setup: Condition, line, start and events together.

        meters: Whether the instruments on the bench answer.

    Raises:
        NotStarted: with what the process said.
    """
    command = [sys.executable, "-m", "commission.practice", str(sheet), "--serve", url, "--speed", f"{speed:g}"]
    command += [
        "--seed",
        str(seed),
        "--start",
        start_at,
        "--setup",
        msgspec.json.encode(setup or Setup(condition=condition)).decode(),
    ]
    command += ["--meters"] * meters
    process = subprocess.Popen(  # noqa: S603  # our own program
        command, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True
    )
    out, said = process.stdout, process.stderr
    if out is None or said is None:
        raise NotStarted("no pipes to the practice unit")
    ready = out.readline()
    if not ready:
        _, words = process.communicate()
        raise NotStarted(words.decode(errors="replace").strip() or f"ended with status {process.returncode}")
    return PracticeProcess(process, msgspec.json.decode(ready, type=ServedAt))


@contextmanager
def running(sheet: Path, url: str = "tcp://127.0.0.1:0", **options: object) -> Iterator[PracticeProcess]:
    """A practice unit for the length of a `with` block; arguments as for `start`."""
    unit = start(sheet, url, **options)  # type: ignore[arg-type]  # start checks its own arguments
    try:
        yield unit
    finally:
        unit.end()
