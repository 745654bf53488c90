"""What holds a visit while a face talks: whatever ends the face, the visit is closed, and why is recorded."""

import asyncio
import os
import signal
from pathlib import Path

import pytest

from commission.cli.host import Ended, hold
from commission.face.dialogue import Left
from commission.job.playback import open_archive
from tests.cli.talking import Talk, talking
from tests.virtual_time import run_virtual


def reason(path: Path) -> str:
    """Why the session ended, as recorded."""
    return str(open_archive(path).events[-1].body["reason"])


async def done(_talk: Talk) -> int:
    """A face that comes to its end."""
    return 0


async def left(_talk: Talk) -> int:
    """A face that somebody leaves."""
    raise Left("the terminal is gone")


async def failing(_talk: Talk) -> int:
    """A face with a fault."""
    raise RuntimeError("a screen crashed")


async def told(_talk: Talk) -> int:
    """A face during which the system says to end."""
    os.kill(os.getpid(), signal.SIGTERM)
    await asyncio.Event().wait()
    return 0


@pytest.mark.parametrize(
    ("face", "raised", "recorded"),
    [
        (done, None, "the visit was left"),
        (left, Left, "the visit was left"),
        (failing, RuntimeError, "what is shown has failed: a screen crashed"),
        (told, Ended, "ended by the system"),
    ],
)
def test_however_the_face_ends_the_visit_is_closed(
    face: object, raised: type[Exception] | None, recorded: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The reason is the last event, what the unit will do is said before the line is closed, signals are put back."""
    handlers = {number: signal.getsignal(number) for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP)}

    async def main() -> None:
        async with talking(tmp_path, capsys) as talk:
            coroutine = face(talk)  # type: ignore[operator]  # each is a coroutine function
            if raised is None:
                assert await hold(talk.visit, coroutine) == 0
            else:
                with pytest.raises(raised):
                    await hold(talk.visit, coroutine)
            assert talk.visit.link is None
            shown = capsys.readouterr().err
            assert "On leaving, the unit will: " in shown
            assert reason(talk.visit.path) == recorded

    run_virtual(main())
    assert {number: signal.getsignal(number) for number in handlers} == handlers
