"""Connecting and leaving as steps of their own (safety rule R16)."""

from pathlib import Path

import msgspec
import pytest

from commission.cli import connecting
from commission.link.url import parse_url
from tests.cli.talking import talking
from tests.virtual_time import run_virtual


def test_r16_listening_is_said_for_a_serial_line_only(capsys: pytest.CaptureFixture[str]) -> None:
    """A network needs none, so nothing is said."""
    connecting.say_listening(parse_url("tcp://127.0.0.1:5020"))
    assert capsys.readouterr().err == ""
    connecting.say_listening(parse_url("rtu:///dev/ttyUSB0"))
    assert "Listening to /dev/ttyUSB0 for 5 s before anything is sent" in capsys.readouterr().err


@pytest.mark.parametrize("moves", ["", "THIS MOVES THE VALVE"])
def test_r16_leaving_says_what_the_unit_does(moves: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """While there is a line, its lost-contact action is said; where that moves the valve, to keep out."""

    async def main() -> None:
        async with talking(tmp_path, capsys) as talk:
            job = talk.visit.job
            behaviour = msgspec.structs.replace(job.sheet.behaviour, lost_contact_moves=bool(moves))
            talk.visit._book.job = msgspec.structs.replace(
                job, sheet=msgspec.structs.replace(job.sheet, behaviour=behaviour)
            )
            capsys.readouterr()
            connecting.say_what_the_unit_will_do(talk.visit)
            shown = capsys.readouterr().err
            assert f"On leaving, the unit will: {behaviour.lost_contact}" in shown
            assert ("THIS MOVES THE VALVE" in shown) == bool(moves)
            talk.visit._book.job = job

    run_virtual(main())


def test_nothing_is_said_without_a_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nobody is left behind."""

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False) as talk:
            capsys.readouterr()
            connecting.say_what_the_unit_will_do(talk.visit)
            assert capsys.readouterr().err == ""

    run_virtual(main())
