"""The command line as a whole: no traceback reaches a user, the exit statuses, one JSON object, the start budget."""

import json
import re
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from commission.cli import main, output
from commission.cli.arguments import parser
from commission.record.writer import Recorder
from tests.cli.conftest import ANSWERS, SHEET
from tests.virtual_time import virtual_clock

Said = tuple[int, str, str]


def said_by(capsys: pytest.CaptureFixture[str], *arguments: object) -> Said:
    """Status, standard output and standard error of one command."""
    capsys.readouterr()
    status = main([str(argument) for argument in arguments])
    captured = capsys.readouterr()
    return status, captured.out, captured.err


def closed_port() -> str:
    """The address of a port at which nobody listens."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return f"tcp://127.0.0.1:{taken.getsockname()[1]}?unit=11"


def missing(folder: Path) -> Path:
    """No such file."""
    return folder / "nowhere.toml"


def a_folder(folder: Path) -> Path:
    """A folder where a file is wanted."""
    return folder


def binary(folder: Path) -> Path:
    """Bytes that are no text and no job."""
    path = folder / "binary.bin"
    path.write_bytes(bytes(range(256)) * 8)
    return path


def with_mistakes(folder: Path) -> Path:
    """A sheet with a misspelt field."""
    path = folder / "sheet.toml"
    path.write_text(SHEET.read_text(encoding="utf-8").replace("serial =", "seriall ="), encoding="utf-8")
    return path


@pytest.mark.parametrize("make", [missing, a_folder, binary, with_mistakes])
@pytest.mark.parametrize("command", ["check", "expected", "run", "stroke", "watch", "report", "export", "verify"])
def test_a_file_that_cannot_be_used_is_a_sentence(
    command: str, make: Callable[[Path], Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whatever the command and whatever is wrong with its file: the file is named, nothing is logged."""
    path = make(tmp_path)
    more = {"stroke": ["open"]}.get(command, [])
    if command in ("run", "stroke", "watch"):
        more = [*more, "--connect", closed_port()]
    status, out, err = said_by(capsys, command, path, *more)
    assert status in (output.Status.USAGE, output.Status.DAMAGED), err
    assert "Traceback" not in err
    assert "This program has failed" not in err
    assert path.name in err
    assert out == ""


@pytest.mark.parametrize(
    "url", ["http://127.0.0.1", "tcp://", "127.0.0.1:502", "rtu://", "tcp://127.0.0.1:502?unit=0", "tcp://h:99999"]
)
@pytest.mark.parametrize("command", ["run", "watch"])
def test_a_wrong_address_is_said_before_anything_else(
    command: str, url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Status 2, with what was expected, and nobody is asked anything."""
    status, _, err = said_by(capsys, command, SHEET, "--connect", url)
    assert status == output.Status.USAGE
    assert "expected" in err or "write it as" in err or "from 1 to 65535" in err
    assert "Who is at the keyboard" not in err


@pytest.mark.parametrize("arguments", [("watch", SHEET), ("run", SHEET, "--answers", ANSWERS)])
def test_a_closed_port_is_status_3(arguments: tuple[object, ...], capsys: pytest.CaptureFixture[str]) -> None:
    """Nobody there: said, and no job file is left behind."""
    status, _, err = said_by(capsys, *arguments, "--connect", closed_port())
    assert status == output.Status.UNREACHED
    assert "127.0.0.1" in err


@pytest.mark.parametrize("command", ["verify", "run"])
def test_an_altered_job_is_status_4(command: str, altered: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Verify says where; a visit is not gone on with."""
    more = ["--connect", closed_port()] if command == "run" else []
    status, _, err = said_by(capsys, command, altered, *more)
    assert status == output.Status.DAMAGED
    assert "alter" in err.lower() or "event" in err


def test_a_job_that_somebody_else_writes_is_left_alone(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A second writer is told so, with status 2."""
    import asyncio

    with asyncio.Runner() as runner:
        loop = runner.get_loop()
        with Recorder(job, session="s2", clock=virtual_clock(loop)):
            status, _, err = said_by(capsys, "run", job, "--connect", closed_port())
    assert status == output.Status.USAGE
    assert job.name in err
    assert "This program has failed" not in err


def test_a_folder_that_cannot_be_made_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An out folder that is a file: named, with status 2, and nothing is logged."""
    taken = tmp_path / "taken"
    taken.write_text("a file", encoding="utf-8")
    status, _, err = said_by(capsys, "run", SHEET, "--connect", closed_port(), "--out", taken)
    assert status == output.Status.USAGE
    assert f"{taken}: " in err
    assert "This program has failed" not in err


def test_an_unknown_practice_unit_gets_the_nearest_name(capsys: pytest.CaptureFixture[str]) -> None:
    """A slip of the keys is answered with what was probably meant."""
    status, _, err = said_by(capsys, "practice", "XV-1110", "--unattended")
    assert status == output.Status.USAGE
    assert "did you mean XV-1101?" in err


def test_an_unknown_fault_is_one_sentence(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """What nobody foresaw is said in one line, and the rest is in the log."""

    def fails(_chosen: object) -> int:
        raise RuntimeError("nobody foresaw this")

    monkeypatch.setattr("commission.cli.check.run", fails)
    status, out, err = said_by(capsys, "check", SHEET)
    assert (status, out) == (output.Status.USAGE, "")
    assert err.count("\n") == 1
    assert "nobody foresaw this" in output.log_file().read_text(encoding="utf-8")


def test_the_keyboard_ends_a_command_in_a_sentence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Ctrl-C in a command that holds no visit."""

    def interrupted(_chosen: object) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr("commission.cli.verify.run", interrupted)
    assert said_by(capsys, "verify", "x.job") == (1, "", "ended by the keyboard\n")


@pytest.mark.parametrize(
    "arguments",
    [
        ("check", SHEET, "--json"),
        ("check", "nowhere.toml", "--json"),
        ("check", "--json"),
        ("check", "--schema", "sheet", "--json"),
        ("verify", "JOB", "--json"),
        ("verify", "JOB", "JOB", "--json"),
        ("verify", "nowhere.job", "--json"),
        ("verify", "JOB", "--salvage", "SAVED", "--json"),
        ("export", "JOB", "--json"),
        ("export", "nowhere.job", "--json"),
        ("practice", "--list", "--json"),
        ("practice", "XV-1110", "--unattended", "--json"),
        ("watch", SHEET, "--connect", "CLOSED", "--json"),
        ("run", SHEET, "--connect", "CLOSED", "--answers", ANSWERS, "--json"),
        ("run", SHEET, "--connect", "no address", "--json"),
    ],
    ids=lambda arguments: " ".join(Path(str(word)).name for word in arguments),
)
def test_json_is_one_object_whatever_comes(
    arguments: tuple[object, ...], job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Standard output is exactly one JSON object, in success and in failure; words go to standard error."""
    names = {"JOB": job, "SAVED": tmp_path / "saved.job", "CLOSED": closed_port()}
    status, out, _ = said_by(capsys, *(names.get(str(word), word) for word in arguments))
    found = json.loads(out)
    assert isinstance(found, dict)
    if "error" in found:
        assert found["status"] == status


def test_no_command_asks_for_one(capsys: pytest.CaptureFixture[str]) -> None:
    """The top of the help names every command."""
    assert all(name in parser().format_help() for name in ("practice", "run", "stroke", "watch", "check", "verify"))


HEAVY = ("textual", "scipy")
NOT_TO_READ = (*HEAVY, "pymodbus")


@pytest.mark.parametrize(
    ("arguments", "unloaded"),
    [
        (("--version",), (*NOT_TO_READ, "numpy", "msgspec")),
        (("--help",), (*NOT_TO_READ, "numpy", "msgspec")),
        (("run", "--help"), (*NOT_TO_READ, "numpy", "msgspec")),
        (("check", str(SHEET)), NOT_TO_READ),
        (("expected", str(SHEET)), (*NOT_TO_READ, "numpy", "pint")),
        (("verify", "JOB"), NOT_TO_READ),
        (("export", "JOB"), NOT_TO_READ),
    ],
)
def test_nothing_heavy_is_loaded_that_is_not_used(
    arguments: tuple[str, ...], unloaded: tuple[str, ...], job: Path, tmp_path: Path
) -> None:
    """The start budget: what only reads files loads neither the screen, nor SciPy, nor the Modbus library."""
    words = [str(job) if word == "JOB" else word for word in arguments]
    code = (
        "import atexit, sys\n"
        "atexit.register(lambda: print(sorted(set(sys.argv[1].split(',')) & set(sys.modules)), file=sys.stderr))\n"
        "from commission.cli import main\n"
        "sys.exit(main(sys.argv[2:]))\n"
    )
    ended = subprocess.run(
        [sys.executable, "-c", code, ",".join(unloaded), *words],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        check=False,
    )
    assert ended.returncode == 0, ended.stderr
    assert ended.stderr.splitlines()[-1] == "[]"


README = Path(__file__).parents[2] / "README.md"
QUICK = ("check", "export", "verify", "report")


def readme_commands() -> list[str]:
    """What README's table of commands shows, with the options that it names behind."""
    rows = re.findall(r"^\| `commission ([^`]+)` \| (.*) \|$", README.read_text(encoding="utf-8"), re.MULTILINE)
    shown = []
    for command, words in rows:
        shown.append(command)
        if command.split()[0] in QUICK:
            shown += [f"{command} {option}" for option in re.findall(r"`(--[^`]+)`", words)]
    return shown


FILLED = {
    "DIR": "out",
    "SHEET": str(SHEET),
    "URL": "tcp://127.0.0.1:5020?unit=11",
    "FILE...": str(SHEET),
    "DIRECTION": "open",
}


@pytest.mark.parametrize("shown", readme_commands())
def test_readme_commands_are_commands(
    shown: str, job: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each command of README's table is understood; those that read files are run, and end well."""
    words = [{**FILLED, "JOB": str(job)}.get(word, word) for word in shown.split()]
    chosen = parser().parse_args(words)
    assert chosen.command == words[0]
    if words[0] in QUICK:
        monkeypatch.chdir(job.parent)
        status, _, err = said_by(capsys, *words)
        assert status == output.Status.DONE, err


def test_readme_shows_every_command() -> None:
    """No command of the program is missing from README's table."""
    known = set(re.findall(r"^    ([\w-]+)(?:  |$)", parser().format_help(), re.MULTILINE))
    assert known
    assert known == {command.split()[0] for command in readme_commands()}


@contextmanager
def closed_reader() -> Iterator[int]:
    """The writing end of a pipe that nobody reads."""
    import os

    reading, writing = os.pipe()
    os.close(reading)
    try:
        yield writing
    finally:
        os.close(writing)


def test_a_reader_that_stops_reading_is_no_fault(job: Path, tmp_path: Path) -> None:
    """`commission export JOB | head -1` says nothing on standard error."""
    with closed_reader() as out:
        ended = subprocess.run(
            [sys.executable, "-m", "commission", "export", str(job)],
            stdout=out, stderr=subprocess.PIPE, cwd=tmp_path, check=False,
        )  # fmt: skip
    assert ended.stderr == b""
    assert ended.returncode == output.Status.DEVIATIONS
