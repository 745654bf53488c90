"""A program that records until it is killed, and says which events it was told are durable."""

import os
import sys
from concurrent.futures import Future
from functools import partial
from pathlib import Path

from commission.clock import Clock
from commission.record.writer import Recorder
from tests.record.small_job import chunk_of


def main() -> None:
    """Write acknowledged numbers to standard output, one a line; argument: the job file."""
    path = Path(sys.argv[1])
    with Recorder(path, session=str(os.getpid()), clock=Clock(), new=not path.exists()) as recorder:
        while True:
            body = {"chunk": recorder.append_chunk(chunk_of(recorder.n))} if recorder.n % 4 == 0 else {"i": recorder.n}
            pending = recorder.append("k", body, by="T")
            pending.committed.add_done_callback(partial(_acknowledge, pending.n))
            if pending.n % 7 == 0:  # else the queue would grow without bound; in between batches form
                pending.committed.result()
            if pending.n % 50 == 0:
                recorder.checkpoint()


def _acknowledge(n: int, committed: Future[bytes]) -> None:
    if committed.exception() is None:
        os.write(1, f"{n}\n".encode())


if __name__ == "__main__":
    main()
