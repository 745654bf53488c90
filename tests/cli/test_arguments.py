"""What can be typed after the program's name."""

from pathlib import Path

import pytest

from commission import __version__
from commission.cli.arguments import parser


def test_r28_the_help_says_that_this_is_no_safety_system() -> None:
    """And whose word wins, with addresses and exit statuses."""
    shown = parser().format_help()
    assert "This is not a safety system. Site procedure, permits, local codes and licensed people win" in shown
    assert "0 done and passed; 1 done, with deviations" in shown
    assert "rtu:///dev/ttyUSB0?baud=19200&parity=E&stop=1&unit=1" in shown


def test_the_version_is_the_packages_own(capsys: pytest.CaptureFixture[str]) -> None:
    """`--version` prints it and ends well."""
    with pytest.raises(SystemExit) as ended:
        parser().parse_args(["--version"])
    assert ended.value.code == 0
    assert capsys.readouterr().out == f"commission {__version__}\n"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["nonsense"], "invalid choice"),
        (["run", "sheet.toml"], "--connect"),
        (["stroke", "sheet.toml", "upwards", "--connect", "tcp://h"], "invalid choice"),
        (["practice", "--speed", "nan"], "nan is not from 1 to 60"),
        (["practice", "--speed", "0"], "0 is not from 1 to 60"),
        (["practice", "--speed", "fast"], "invalid speed value"),
        (["watch", "sheet.toml", "--connect", "tcp://h", "--times", "-1"], "-1 is below zero"),
        (["export", "a.job", "--json", "--csv", "out"], "not allowed with argument"),
        (["report", "a.job", "--paper", "a3"], "invalid choice"),
    ],
)
def test_what_cannot_be_meant_is_status_2(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    """With the argument and what was expected, on standard error."""
    with pytest.raises(SystemExit) as ended:
        parser().parse_args(words)
    captured = capsys.readouterr()
    assert (ended.value.code, captured.out) == (2, "")
    assert said in captured.err


def test_a_visit_and_a_stroke_take_the_same() -> None:
    """The stroke is a visit with a direction."""
    common = ["--connect", "tcp://h", "--answers", "a.toml", "--site", "h:1", "--out", "o", "--json"]
    run = vars(parser().parse_args(["run", "s.toml", *common]))
    stroke = vars(parser().parse_args(["stroke", "s.toml", "open", *common]))
    assert stroke.pop("direction") == "open"
    assert run.pop("checklist") is None
    assert {**run, "command": ""} == {**stroke, "command": ""}
    assert run["answers"] == Path("a.toml")
