"""Sentences for people fit a terminal, and what stands on it can be taken out of sight."""

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.cli import output, saying
from commission.face.wording import WIDTH


@given(
    st.text(alphabet=st.characters(codec="ascii", exclude_categories=["C"]), max_size=400), st.sampled_from(["", "  "])
)
def test_every_line_fits_and_no_word_is_lost(text: str, indent: str) -> None:
    """Whatever is said, at most 80 columns, each line indented."""
    said: list[str] = []
    before = output.speak_by(said.append)
    try:
        saying.say(text, indent)
    finally:
        output.speak_by(before)
    lines = said[0].split("\n")
    assert all(len(line) <= WIDTH for line in lines)
    assert all(line.startswith(indent) for line in lines if line)
    assert "".join(said[0].split()) == "".join(text.split())


class Terminal(io.StringIO):
    """A terminal."""

    def isatty(self) -> bool:
        """It is one."""
        return True


def test_r13_only_a_terminal_is_cleared(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Words that go into a file are not followed by control characters."""
    saying.clear_screen()
    assert capsys.readouterr().err == ""
    terminal = Terminal()
    monkeypatch.setattr("sys.stderr", terminal)
    saying.clear_screen()
    assert terminal.getvalue().startswith("\x1b[H\x1b[J")
