"""`commission run`: who may answer from a file, and how a visit ends (safety rules R15, R16, R28)."""

import argparse
import asyncio
import contextlib
import json
import os
import pty
import re
import tty
from collections.abc import Callable
from pathlib import Path

import pytest

from commission.cli import main
from commission.cli.output import Ending, Status
from commission.cli.run import NOT_SAFETY, _require_practice, run
from commission.content import checklists_folder
from commission.link.faults import LineInUse
from commission.link.url import SerialAddress
from tests.again import handed_over
from tests.cli.conftest import ANSWERS, SHEET
from tests.supervise.rig import NotingServer, demo_sheet, served
from tests.virtual_time import run_virtual, virtual_clock

READ_IDENTIFICATION = 43


class Mute:
    """The identification of a unit that claims nothing."""

    def object(self, _number: int) -> bytes | None:
        """No such object."""
        return None


class Echo:
    """The identification of a unit that claims to be one for practice, and does not know the answer."""

    def object(self, number: int) -> bytes | None:
        """The claim, and the same answer to every challenge."""
        return b"practice speed=20 nonce=0123456789abcdef" if number == 0x80 else b"0123456789abcdef"


def pretends(server: NotingServer, identification: object) -> None:
    """Let the unit say something else of itself."""
    server._identification = identification  # type: ignore[assignment]  # only `object` is asked of it


@pytest.mark.parametrize("identification", [Mute(), Echo()], ids=["claims nothing", "claims and cannot answer"])
def test_r15_answers_are_refused_before_the_first_read(identification: object) -> None:
    """Only the challenge reaches a unit that is not for practice: no read, no write; status 2."""

    async def run() -> None:
        async with served(demo_sheet()) as unit:
            pretends(unit.server, identification)
            with pytest.raises(Ending, match="only where the unit proves to be a practice unit") as ending:
                await _require_practice(SHEET, unit.address, virtual_clock())
            assert ending.value.status is Status.USAGE
            assert {frame.function for frame in unit.server.frames} == {READ_IDENTIFICATION}

    run_virtual(run())


def test_r15_a_practice_unit_is_asked_nothing_else_either() -> None:
    """It proves itself, and the line is closed again."""

    async def run() -> None:
        async with served(demo_sheet(), speed=20) as unit:
            await _require_practice(SHEET, unit.address, virtual_clock())
            assert {frame.function for frame in unit.server.frames} == {READ_IDENTIFICATION}

    run_virtual(run())


def test_r15_a_jobs_own_sheet_is_used(job: Path) -> None:
    """Going on with a job needs no sheet beside it."""

    async def run() -> None:
        async with served(demo_sheet()) as unit:
            await _require_practice(job, unit.address, virtual_clock())

    run_virtual(run())


def test_r16_a_serial_line_is_listened_to_before_the_challenge() -> None:
    """Even the question whether it is a practice unit is not sent into somebody's traffic."""
    master, slave = pty.openpty()

    async def run() -> None:
        asyncio.get_running_loop().call_later(2.0, os.write, master, b"\x01\x03\x00\x00\x00\x01\x84\x0a")
        with pytest.raises(LineInUse, match="8 bytes in 5 s, beginning 01 03"):
            await _require_practice(SHEET, SerialAddress(os.ttyname(slave), 19200, "N", 1, 11), virtual_clock())
        os.set_blocking(master, False)
        with pytest.raises(BlockingIOError):
            os.read(master, 1)

    try:
        tty.setraw(slave)
        run_virtual(run())
    finally:
        with contextlib.suppress(OSError):
            os.close(slave)
        os.close(master)


@pytest.fixture
def keyboard_gone(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Callable[[], None]:
    """Standard input that is at its end."""
    empty = tmp_path / "nothing typed"
    empty.write_bytes(b"")
    stream = empty.open(encoding="utf-8")
    monkeypatch.setattr("sys.stdin", stream)
    return stream.close


def test_r28_is_said_first_and_a_visit_without_keyboard_is_left(
    keyboard_gone: Callable[[], None], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nobody types: the visit is left at once, its job and interim report stand, and one object says where."""
    url = "tcp://127.0.0.1:9?unit=11"
    status = main(["run", str(SHEET), "--connect", url, "--out", str(tmp_path / "visits"), "--json"])
    keyboard_gone()
    captured = capsys.readouterr()
    assert captured.err.startswith(NOT_SAFETY)
    assert "the same command on that file goes on from here" in captured.err
    assert status == Status.DEVIATIONS
    found = json.loads(captured.out)
    assert found["status"] == status
    assert Path(found["job"]).exists()
    assert Path(found["report"]).read_bytes().startswith(b"%PDF")
    assert found["outcome"].startswith("NOT FINISHED")


def test_answers_that_are_unsound_are_said_before_the_unit_is_asked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """An answers file with a mistake: status 2, no job."""
    broken = tmp_path / "answers.toml"
    broken.write_text(ANSWERS.read_text(encoding="utf-8").replace('by = "Tess', 'buy = "Tess', 1), encoding="utf-8")
    arguments = ["run", str(SHEET), "--connect", "tcp://127.0.0.1:9", "--answers", str(broken)]
    assert main([*arguments, "--out", str(tmp_path)]) == Status.USAGE
    assert "did you mean 'by'?" in capsys.readouterr().err
    assert list(tmp_path.glob("*.job")) == []


def test_a_job_goes_on_with_its_own_checklist(tmp_path: Path) -> None:
    """Another one is not silently left aside: the sentence says which command begins anew from that job."""
    job = run_virtual(handed_over(tmp_path))
    chosen = argparse.Namespace(sheet=job, checklist=checklists_folder() / "retest.toml", connect="tcp://127.0.0.1:1")
    with pytest.raises(Ending, match=rf"commission retest {re.escape(str(job))} --checklist") as raised:
        run(chosen)
    assert raised.value.status is Status.USAGE
