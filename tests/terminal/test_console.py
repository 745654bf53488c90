"""What a terminal can show, from its environment and coding."""

import pytest

from commission.terminal.console import Console, console


@pytest.mark.parametrize(
    ("environment", "encoding", "shows"),
    [
        ({"TERM": "xterm-256color"}, "utf-8", Console(colour=True, drawing=True)),
        ({"TERM": "xterm-256color"}, "UTF8", Console(colour=True, drawing=True)),
        ({"TERM": "xterm", "NO_COLOR": "1"}, "utf-8", Console(colour=False, drawing=True)),
        ({"TERM": "xterm", "NO_COLOR": ""}, "utf-8", Console(colour=True, drawing=True)),
        ({"TERM": "vt100"}, "utf-8", Console(colour=True, drawing=False)),
        ({"TERM": "dumb"}, "utf-8", Console(colour=False, drawing=False)),
        ({"TERM": "xterm"}, "ascii", Console(colour=True, drawing=False)),
        ({"TERM": "xterm"}, "ANSI_X3.4-1968", Console(colour=True, drawing=False)),
        ({"TERM": "xterm"}, "cp437", Console(colour=True, drawing=False)),
        ({}, "cp65001", Console(colour=True, drawing=True)),
    ],
)
def test_what_can_be_shown(environment: dict[str, str], encoding: str, shows: Console) -> None:
    """NO_COLOR as its page says (set and not empty); line drawing only where the coding and the terminal have it."""
    assert console(environment, encoding) == shows


def test_a_plain_locale_has_no_drawing() -> None:
    """Python may write UTF-8 under LANG=C; the console behind it still cannot show it."""
    for plain in (
        {"LANG": "C"},
        {"LC_ALL": "C", "LANG": "en_GB.UTF-8"},
        {"LC_CTYPE": "POSIX"},
        {"LANG": "C", "LC_CTYPE": "C.UTF-8"},
    ):
        assert not console({"TERM": "xterm", **plain}, "utf-8").drawing
    for wide in ({"LANG": "C.UTF-8"}, {"LC_ALL": "nb_NO.UTF-8", "LANG": "C"}, {}):
        assert console({"TERM": "xterm", **wide}, "utf-8").drawing


def test_without_being_told_it_looks_for_itself() -> None:
    """The process's own environment and output."""
    assert isinstance(console(), Console)
