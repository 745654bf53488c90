"""Words written aside: in order, whole, and never waited for by who speaks."""

import io
import os
import pty
import select
import sys
import threading

import pytest

from commission.cli import output
from commission.cli.aside import write, written_aside


def test_what_is_said_comes_out_whole_and_in_order(capsys: pytest.CaptureFixture[str]) -> None:
    """All of it is there when the block is left, and afterwards it is written at once again."""
    with written_aside():
        for number in range(200):
            output.say(f"line {number}")
    assert capsys.readouterr().err.splitlines() == [f"line {number}" for number in range(200)]
    output.say("directly")
    assert capsys.readouterr().err == "directly\n"


def test_who_speaks_does_not_wait_for_a_terminal_that_holds(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody reads the terminal: far more than it takes is said at once, and the block ends after its second."""
    master, slave = pty.openpty()
    with open(slave, "w", encoding="utf-8") as held:  # noqa: PTH123  # a descriptor, not a path
        monkeypatch.setattr(sys, "stderr", held)
        with written_aside():
            said = threading.Thread(target=_say_much)
            said.start()
            said.join(10.0)
            assert not said.is_alive()
        monkeypatch.undo()
        _read_all(master)
    os.close(master)


def _say_much() -> None:
    for _ in range(2000):
        output.say("x" * 80)


def _read_all(master: int) -> None:
    """Let the held words go, so that their writer ends."""
    writer = next(thread for thread in threading.enumerate() if thread.name == "words for people")
    while writer.is_alive():
        if select.select([master], [], [], 0.01)[0]:  # the writer may have taken its last word to the end meanwhile
            os.read(master, 65536)


def test_a_terminal_that_is_gone_is_no_reason_to_fail(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its writer goes on, and nothing is raised."""
    closed = io.TextIOWrapper(io.BytesIO())
    closed.close()
    monkeypatch.setattr(sys, "stderr", closed)
    write("nobody reads this\n")


def test_what_a_terminal_cannot_show_is_spelled_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """As the interpreter does itself: no sign is dropped and none raises."""
    reader, writer = os.pipe()
    with open(writer, "w", encoding="ascii") as narrow, open(reader, "rb") as seen:  # noqa: PTH123  # descriptors
        monkeypatch.setattr(sys, "stderr", narrow)
        write("20 °C\n")
        monkeypatch.undo()
        assert seen.readline() == b"20 \\xb0C" + os.linesep.encode()
