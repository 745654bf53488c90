"""What the journeys share: a job whose commands are proved, a unit to walk, and that no process outlives its test."""

import shutil
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from pathlib import Path

import pytest

from tests.journeys.programs import Program, Terminal, finished
from tests.journeys.short_walk import SHEET, answers, short_checklist
from tests.journeys.site import Desk, served

_PROCESSES = Path("/proc")


@pytest.fixture(autouse=True)
def no_process_left(user_folders: Path) -> Iterator[None]:
    """Fail the test that leaves a process behind: each one that it starts has the test's own home folder."""
    yield
    left = [words for words in _commands_of(user_folders) if "pytest" not in words]
    assert not left, f"processes left behind: {left}"


def _commands_of(home: Path) -> Iterator[str]:
    for process in _PROCESSES.glob("[0-9]*"):
        try:
            environment = (process / "environ").read_bytes().split(b"\0")
            words = (process / "cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace")
        except OSError:  # ended meanwhile, or somebody else's
            continue
        if f"HOME={home}".encode() in environment and words:
            yield words


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
