"""
One writer at a time: a lock beside the job file, and who holds it.

The lock itself belongs to the operating system (through `filelock`), so it falls when its holder dies. Who holds it
stands in a second small file, because a locked file cannot be read on every system. The lock file stays behind after
use: removing it would let two waiters lock two different files of the same name.
"""

import getpass
import os
import platform
from contextlib import suppress
from pathlib import Path

import filelock
import msgspec

from commission.record.errors import RecordHeld, RecordNotWritten


class Holder(msgspec.Struct, frozen=True):
    """Who is writing: the laptop's user, the laptop, the process, and since when (the laptop's clock)."""

    user: str
    laptop: str
    process: int
    since: str


class WriterLock:
    """
    Keeps a second writer out of a job file.

    Args:
        path: The job file.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._holder_path = path.with_name(f".{path.name}.writer")
        self._lock = filelock.FileLock(path.with_name(f".{path.name}.lock"), timeout=0, thread_local=False)

    def take(self, since: str) -> None:
        """
        Take the lock, or say who has it.

        Raises:
            RecordHeld: another writer has it.

            RecordNotWritten: the folder takes no lock.
        """
        if not self._path.parent.is_dir():  # the lock would create it, in place of a stick that is not there
            raise RecordNotWritten(f"{self._path.parent}: no record can be kept here: there is no such folder")
        try:
            self._lock.acquire()
        except filelock.Timeout:
            raise RecordHeld(self._held_sentence()) from None
        except (OSError, NotImplementedError) as error:
            reason = getattr(error, "strerror", None) or str(error)
            raise RecordNotWritten(f"{self._path.parent}: no record can be kept here: {reason}") from error
        holder = Holder(_user(), platform.node(), os.getpid(), since)
        with suppress(OSError):  # the lock holds without its label
            self._holder_path.write_bytes(msgspec.json.encode(holder))

    def release(self) -> None:
        """Let the next writer in. Releasing twice is harmless."""
        if self._lock.is_locked:
            with suppress(OSError):
                self._holder_path.unlink(missing_ok=True)
            with suppress(OSError):
                self._lock.release()

    def _held_sentence(self) -> str:
        holder = self._read_holder()
        if holder is None:
            return f"{self._path.name} is being written by another program; close it there first"
        return (
            f"{self._path.name} is being written by {holder.user} on {holder.laptop} "
            f"(process {holder.process}, since {holder.since}); close it there first"
        )

    def _read_holder(self) -> Holder | None:
        try:
            return msgspec.json.decode(self._holder_path.read_bytes(), type=Holder)
        except (OSError, msgspec.DecodeError):
            return None


def _user() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return "somebody"
