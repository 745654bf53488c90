"""
What is said to people goes to standard error; standard output is data. The exit status is decided here.

No traceback ever reaches a user: a known error becomes its own sentence, an unknown one a sentence with the place of
the log that holds the rest.
"""

import contextlib
import os
import sys
from collections.abc import Callable
from enum import IntEnum
from pathlib import Path
from typing import Any

LIBRARIES = ("pymodbus", "pymodbus_internal", "asyncio")
"""Whose words are for the log only."""


class Status(IntEnum):
    """Exit statuses."""

    DONE = 0
    DEVIATIONS = 1
    USAGE = 2
    UNREACHED = 3
    DAMAGED = 4


class Ending(Exception):  # an ending, good or bad
    """The command ends here, with a sentence for people and a status."""

    def __init__(self, sentence: str, status: Status) -> None:
        super().__init__(sentence)
        self.status = status


def say(sentence: str) -> None:
    """A line for people."""
    _speak(f"{sentence}\n")


def speak_by(speak: Callable[[str], None]) -> Callable[[str], None]:
    """Let what is said be written by this from now on; what wrote it before."""
    global _speak  # standard error is one for the whole process, and so is who writes to it
    before, _speak = _speak, speak
    return before


def _write(text: str) -> None:
    """A terminal that is gone is no reason to fail: what is typed ends with it."""
    with contextlib.suppress(OSError, ValueError):
        sys.stderr.write(text)
        sys.stderr.flush()


_speak: Callable[[str], None] = _write


def data(text: str) -> None:
    """Data on standard output."""
    sys.stdout.write(text if text.endswith("\n") else f"{text}\n")
    sys.stdout.flush()


def data_json(value: Any) -> None:
    """One JSON object on standard output."""
    import json  # noqa: PLC0415  # the start budget: not for --version and --help

    data(json.dumps(value, ensure_ascii=False, indent=2))


def nobody_reads_on() -> Status:
    """Whoever read standard output has closed it: nothing more is written, not even at the interpreter's end."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return Status.DEVIATIONS


def log_file() -> Path:
    """Where this program keeps what it does not show: in the user's log folder."""
    import platformdirs  # noqa: PLC0415  # only where something went wrong

    folder = Path(platformdirs.user_log_dir("commission"))
    folder.mkdir(parents=True, exist_ok=True)
    return folder / "commission.log"


def quiet_library_logs() -> None:
    """Libraries log into the file, never onto the screen of somebody at work."""
    import logging  # noqa: PLC0415  # the start budget: a third of what --version takes

    try:
        handler: logging.Handler = logging.FileHandler(log_file(), delay=True, encoding="utf-8")
    except OSError:
        handler = logging.NullHandler()
    for name in LIBRARIES:
        logger = logging.getLogger(name)
        logger.handlers = [handler]
        logger.propagate = False


def failed(error: Exception) -> Ending:
    """What went wrong as one sentence with its status; the details of what is not known go into the log."""
    status = _status_of(error)
    if status is not None:
        return Ending(str(error), status)
    if isinstance(error, OSError) and error.filename is not None:
        return Ending(f"{error.filename}: {error.strerror}", Status.USAGE)
    import traceback  # noqa: PLC0415  # only where something went wrong

    try:
        log = log_file()
        with log.open("a", encoding="utf-8") as file:
            file.write("".join(traceback.format_exception(error)))
        where = f"; the details are in {log}"
    except OSError:
        where = ""
    sentence = f"This program has failed ({type(error).__name__}: {error}). What was recorded is safe{where}."
    return Ending(sentence, Status.USAGE)


_STATUS_BY_NAME = {
    "ContentError": Status.USAGE,
    "UrlError": Status.USAGE,
    "UnitError": Status.USAGE,
    "NumberError": Status.USAGE,
    "OutsideTable": Status.USAGE,
    "UnknownSize": Status.USAGE,
    "NotStarted": Status.USAGE,
    "NotServed": Status.USAGE,
    "RecordMissing": Status.USAGE,
    "NotARecord": Status.USAGE,
    "RecordTooNew": Status.USAGE,
    "RecordHeld": Status.USAGE,
    "RecordDamaged": Status.DAMAGED,
    "RecordError": Status.USAGE,
    "JobError": Status.DAMAGED,
    "VisitError": Status.USAGE,
    "MotionRefused": Status.DEVIATIONS,
    "LeaveRefused": Status.DEVIATIONS,
    "EnergyError": Status.USAGE,
    "AnswerError": Status.USAGE,
    "WireFault": Status.UNREACHED,
    "LineInUse": Status.UNREACHED,
    "LinkError": Status.USAGE,
    "ReportError": Status.USAGE,
}
"""By name and not by type, so that nothing is imported only to be compared with."""


def _status_of(error: Exception) -> Status | None:
    for kind in type(error).__mro__:
        if kind.__name__ in _STATUS_BY_NAME:
            return _STATUS_BY_NAME[kind.__name__]
    return None
