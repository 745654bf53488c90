"""A terminal that holds its output, or is gone, never makes the event loop wait."""

import os
import sys
import threading
import time
from pathlib import Path

import pytest
from textual.drivers._writer_thread import WriterThread

from commission.terminal.driver import NeverWaits, never_waiting
from tests.journeys.programs import Terminal


class Started:
    """A driver as far as its writer thread goes, on a pipe that nobody reads."""

    def __init__(self) -> None:
        self._writer_thread: WriterThread | None = None
        self.handing: list[threading.Thread] = []
        self.reader, writer = os.pipe()
        self.file = os.fdopen(writer, "w", encoding="utf-8")

    def start_application_mode(self) -> None:
        """Begin to write."""
        self._writer_thread = WriterThread(self.file)
        self._writer_thread.start()

    def write(self, data: str) -> None:
        """Hand a frame over, as the library does."""
        assert self._writer_thread is not None
        self._writer_thread.write(data)


class Patient(NeverWaits, Started):
    """The same, never waiting."""


def seconds_for(driver: Started, frames: int) -> float:
    """How long handing over so many frames of 100 kB takes; 2 s where it waits."""
    begun_s = time.monotonic()

    def hand_over() -> None:
        for _ in range(frames):
            driver.write("x" * 100_000)

    handing = threading.Thread(target=hand_over, daemon=True)
    driver.handing.append(handing)
    handing.start()
    handing.join(2.0)
    return time.monotonic() - begun_s


def test_a_terminal_that_holds_its_output_is_not_waited_for() -> None:
    """Two hundred frames are handed over at once although nobody reads; the library's own driver stands still."""
    patient, plain = Patient(), Started()
    for driver in (patient, plain):
        driver.start_application_mode()
    assert seconds_for(patient, 200) < 1.0
    assert seconds_for(plain, 200) >= 2.0
    for driver in (patient, plain):
        release(driver)


def test_frames_for_a_terminal_that_is_gone_are_dropped() -> None:
    """The writer thread has died: nothing is queued, nothing raises."""
    driver = Patient()
    driver.start_application_mode()
    release(driver)
    assert seconds_for(driver, 200) < 1.0


def test_a_driver_without_a_writer_thread_stays_usable() -> None:
    """The headless driver of tests has none."""
    from textual.drivers.headless_driver import HeadlessDriver

    assert issubclass(never_waiting(HeadlessDriver), HeadlessDriver)


@pytest.mark.skipif(sys.platform == "win32", reason="no such terminals there")
def test_a_terminal_that_is_gone_without_a_word_ends_the_program(tmp_path: Path) -> None:
    """
    A terminal that is not the session's own hangs up without a signal: the program ends all the same.

    Else it would read nothing at full speed for ever, and keep job and valve from whoever comes next.
    """
    program = Terminal.open("--folder", tmp_path, cwd=tmp_path, owned=False)
    try:
        program.expect("help")
        program.ended_within(program.hang_up(), 15.0)
    finally:
        program.close()


def release(driver: Started) -> None:
    """Read what was written until the writer ends."""
    writer = driver._writer_thread
    assert writer is not None
    reading = threading.Thread(target=lambda: drain(driver.reader), daemon=True)
    reading.start()
    for handing in driver.handing:
        handing.join(10.0)
    writer.stop()
    driver.file.close()
    reading.join(10.0)
    os.close(driver.reader)


def drain(descriptor: int) -> None:
    """Read to the end."""
    while os.read(descriptor, 1 << 16):
        pass
