"""What the journeys share: a job whose commands are proved, a unit to walk, and that no process outlives its test."""

import shutil
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from pathlib import Path

import pytest

from tests.journeys.orphans import commands_of, end_all
from tests.journeys.programs import Program, Terminal, finished
from tests.journeys.screen import Screen
from tests.journeys.short_walk import SHEET, answers, short_checklist
from tests.journeys.site import Desk, served


@pytest.fixture(autouse=True)
def no_process_left(user_folders: Path) -> Iterator[None]:
    """Fail the test that leaves a process behind: each one that it starts has the test's own home folder."""
    yield
    left = [words for words in commands_of(user_folders).values() if "pytest" not in words]
    assert not left, f"processes left behind: {left}"


@pytest.fixture(scope="session")
def proved(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A job that was walked into LIVE with its commands proved, up to the first stroke, by the program itself."""
    folder = tmp_path_factory.mktemp("proved")
    filed = answers(folder, until_strokes=True)
    with served(SHEET, speed=20.0) as desk:
        walked = finished(
            *("run", SHEET, "--connect", desk.url, "--answers", filed, "--site", desk.address),
            *("--checklist", short_checklist(folder), "--out", folder),
            cwd=folder,
            home=folder,
        )
    assert "step 'K1': found no answer" in walked.stderr, walked.stderr
    return next(folder.glob("*.job"))


@pytest.fixture
def job(proved: Path, tmp_path: Path) -> Path:
    """A copy of the job whose commands are proved; any unit at its closed end goes with it."""
    return Path(shutil.copy(proved, tmp_path / "visit.job"))


@pytest.fixture
def folder(job: Path, tmp_path: Path) -> Path:
    """A folder of jobs, with the job whose commands are proved."""
    made = tmp_path / "jobs"
    made.mkdir()
    shutil.move(job, made / job.name)
    return made


@pytest.fixture
def stack() -> Iterator[ExitStack]:
    """Closes what a test opened, the newest first."""
    with ExitStack() as opened:
        yield opened


@pytest.fixture
def unit(stack: ExitStack) -> Callable[..., Desk]:
    """Serves a practice unit XV-1101: `unit(speed=10)`."""

    def serve(url: str = "tcp://127.0.0.1:0", *, speed: float, start_at: str = "closed") -> Desk:
        return stack.enter_context(served(SHEET, url, speed=speed, start_at=start_at))

    return serve


@pytest.fixture
def by_file(stack: ExitStack, tmp_path: Path) -> Callable[..., Program]:
    """Starts a visit, or one stroke, on a job, with answers from a file: `by_file(job, desk)`."""

    def start(job: Path, desk: Desk, *more: object, answered: str = "", stroke: str = "") -> Program:
        filed = answers(tmp_path, more=answered)
        command = ("stroke", job, stroke) if stroke else ("run", job)
        program = Program.start(
            *(*command, "--connect", desk.url, "--answers", filed, "--site", desk.address, *more), cwd=tmp_path
        )
        stack.callback(program.close)
        return program

    return start


@pytest.fixture
def terminal(stack: ExitStack, tmp_path: Path) -> Callable[..., Terminal]:
    """Opens a terminal with a command in it: `terminal("run", job, "--connect", desk.url)`."""

    def start(*arguments: object) -> Terminal:
        opened = Terminal.open(*arguments, cwd=tmp_path)
        stack.callback(opened.close)
        return opened

    return start


@pytest.fixture
def typed_at(stack: ExitStack, tmp_path: Path) -> Callable[..., Program]:
    """Starts a command with lines typed ahead at its standard input: `typed_at("run", job, lines=[...])`."""

    def start(*arguments: object, lines: Sequence[str]) -> Program:
        program = Program.start(*arguments, cwd=tmp_path)
        stack.callback(program.close)
        assert program.process.stdin is not None
        program.process.stdin.write("".join(f"{line}\n" for line in lines).encode())
        program.process.stdin.flush()
        return program

    return start


@pytest.fixture
def stack_program(stack: ExitStack) -> Callable[[Program], Program]:
    """Closes a program with the test."""

    def keep(program: Program) -> Program:
        stack.callback(program.close)
        return program

    return keep


@pytest.fixture
def screen(stack: ExitStack, tmp_path: Path, user_folders: Path) -> Callable[..., Screen]:
    """Opens `commission` in tmux: `screen("practice", "--out", folder)`; nothing of it outlives its test."""

    def start(*arguments: object, size: tuple[int, int] = (80, 24), colour: bool = True) -> Screen:
        opened = Screen.open(*arguments, cwd=tmp_path, size=size, colour=colour)
        stack.callback(end_all, user_folders)
        stack.callback(opened.close)
        return opened

    return start
