"""Standard error for people, standard output for data, and the exit status of every known fault."""

import importlib
import json
import logging
from pathlib import Path

import pytest

import commission
from commission.cli import output
from commission.cli.output import Status
from commission.link import faults
from commission.record.errors import RecordDamaged, RecordHeld

NEVER_OUT = {
    "Left": "ends a visit with words of its own",
    "Ending": "has its status",
    "Ended": "ends a visit with words of its own",
    "StopRequested": "ends a motion",
    "Aborted": "ends a motion",
    "NoMotion": "a figure that is not there",
    "IncompleteStroke": "a figure that is not there",
    "NothingRead": "a figure that is not there",
    "NoPartialStroke": "a figure that is not there",
    "NoResponse": "a figure that is not there",
    "NoPoint": "a figure that is not there",
    "NoTrip": "a figure that is not there",
    "NothingFollowed": "a figure that is not there",
    "NothingGiven": "a figure that is not there",
    "NothingHeld": "a figure that is not there",
    "NothingActed": "a figure that is not there",
    "TooFewReadings": "a figure that is not there",
    "NotRepaired": "of the practice unit's people",
    "_Over": "ends a run with words of its own",
    "Cannot": "ends a run with words of its own",
    "FilmError": "becomes a sentence at the prompt",
    "GaugeError": "becomes a sentence at the prompt",
    "OutsideRange": "a figure that is not there",
    "AccuracyError": "becomes a sentence at the prompt",
    "NotPossible": "of the practice unit's people",
    "CannotReplay": "a figure that is not recomputed",
    "NotDone": "of the practice unit's people",
    "NoSuchFault": "the practice unit's process says it and ends",
    "NoSuchTrouble": "the practice unit's process says it and ends",
    "Refused": "of the practice unit's wire",
    "ModbusFault": "of the practice unit's wire",
    "ActError": "becomes an AnswerError or a sentence at the prompt",
    "ConclusionError": "becomes an AnswerError or a sentence at the prompt",
    "EvidenceError": "becomes an AnswerError or a sentence at the prompt",
    "ConfirmError": "becomes an AnswerError or a sentence at the prompt",
}
"""Exceptions that no command lets out, and why."""


def own_exceptions() -> list[type[Exception]]:
    """Every exception that this program defines, the keyboard app's aside."""
    found: set[type[Exception]] = set()
    root = Path(commission.__file__).parent
    for path in sorted(root.rglob("*.py")):
        parts = path.relative_to(root.parent).with_suffix("").parts
        if parts[1] == "terminal" or parts[-1] in ("__main__", "__init__", "app", "auto"):
            continue
        for value in vars(importlib.import_module(".".join(parts))).values():
            if isinstance(value, type) and issubclass(value, Exception) and value.__module__.startswith("commission."):
                found.add(value)
    return sorted(found, key=lambda kind: kind.__qualname__)


def test_every_exception_of_ours_has_a_status_or_a_reason_not_to() -> None:
    """A new exception is either known to the command line or listed here with where it ends."""
    unknown = [
        kind.__name__
        for kind in own_exceptions()
        if output._status_of(kind.__new__(kind)) is None and kind.__name__ not in NEVER_OUT
    ]
    assert unknown == []


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (faults.NotConnected("no socket"), Status.UNREACHED),
        (faults.WrongUnit("another unit"), Status.UNREACHED),
        (faults.LineInUse("somebody else"), Status.UNREACHED),
        (faults.UrlError("no address"), Status.USAGE),
        (RecordDamaged("cut"), Status.DAMAGED),
        (RecordHeld("held"), Status.USAGE),
    ],
)
def test_a_known_fault_is_its_own_sentence(error: Exception, status: Status) -> None:
    """Nothing is added to it and nothing logged."""
    ending = output.failed(error)
    assert (str(ending), ending.status) == (str(error), status)
    assert not output.log_file().exists()


def test_a_file_of_the_system_is_named() -> None:
    """What the operating system refuses is said with the file's name."""
    ending = output.failed(PermissionError(13, "Permission denied", "/out"))
    assert (str(ending), ending.status) == ("/out: Permission denied", Status.USAGE)


def test_an_unknown_fault_is_one_sentence_and_a_log(user_folders: Path) -> None:
    """The sentence names the log, and the log holds the rest."""
    ending = output.failed(ZeroDivisionError("by nothing"))
    assert "\n" not in str(ending)
    log = output.log_file()
    assert str(log) in str(ending)
    assert log.is_relative_to(user_folders)
    assert "ZeroDivisionError: by nothing" in log.read_text(encoding="utf-8")


def test_people_and_data_have_a_stream_each(capsys: pytest.CaptureFixture[str]) -> None:
    """Text on standard error, one object on standard output."""
    output.say("for people")
    output.data_json({"für": 1})
    captured = capsys.readouterr()
    assert captured.err == "for people\n"
    assert json.loads(captured.out) == {"für": 1}


def test_a_terminal_that_is_gone_is_no_fault(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Saying something to a closed stream neither fails nor ends what must go on."""
    with (tmp_path / "closed").open("w", encoding="utf-8") as stream:
        pass
    monkeypatch.setattr("sys.stderr", stream)
    output.say("nobody hears this")


def test_library_logs_stay_off_the_screen(capsys: pytest.CaptureFixture[str]) -> None:
    """A library's warning goes into the log file."""
    output.quiet_library_logs()
    logging.getLogger("pymodbus").error("on nobody's screen")
    assert capsys.readouterr().err == ""
    assert "on nobody's screen" in output.log_file().read_text(encoding="utf-8")
