"""Processes that a test started: each has the test's own home folder."""

import os
import signal
from pathlib import Path

from tests.journeys.site import wait_for

_PROCESSES = Path("/proc")


def commands_of(home: Path) -> dict[int, str]:
    """What runs with this home folder, by its number; empty where the system does not tell."""
    found = {}
    for process in _PROCESSES.glob("[0-9]*"):
        try:
            environment = (process / "environ").read_bytes().split(b"\0")
            words = (process / "cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace")
        except OSError:  # ended meanwhile, or somebody else's
            continue
        if f"HOME={home}".encode() in environment and words and "pytest" not in words:
            found[int(process.name)] = words
    return found


def practice_unit_of(home: Path) -> int:
    """The number of the one practice unit that runs with this home folder."""

    def units() -> list[int]:
        return [number for number, words in commands_of(home).items() if "commission.practice" in words]

    return wait_for(units, "a practice unit")[0]


def end_all(home: Path) -> None:
    """End what a killed app has left: a practice unit lives on for ten minutes, as a moving valve would."""
    for number, words in commands_of(home).items():
        if "commission" in words:
            try:
                os.kill(number, signal.SIGTERM)
            except ProcessLookupError:
                continue
    wait_for(lambda: not any("commission" in words for words in commands_of(home).values()), "what was left to end")
