"""The entry that serves one unit."""

from pathlib import Path

import pytest

from commission.practice.__main__ import main
from tests.practice.made import XV_1101

XV = str(XV_1101)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ([XV, "--serve", "http://nowhere"], "tcp://host:port"),
        ([XV, "--setup", '{"start": "open"'], "truncated"),
        ([XV, "--setup", '{"condition": {"friction_factor": "much"}}'], "float"),
        (["no-such-sheet.toml"], "no-such-sheet.toml"),
    ],
    ids=["url", "JSON", "condition", "sheet"],
)
def test_bad_input_is_status_2_and_one_sentence(
    arguments: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """It names what was wrong; nothing on standard output."""
    assert main(arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert says in err


def test_a_sheet_that_cannot_be_played(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A unit without its accumulator is refused with its tag."""
    text = XV_1101.read_text(encoding="utf-8")
    text = text.replace("[accumulator]\nvolume_l = 0.5\nprecharge_bar = 95.0\nprecharge_at_c = 20.0\n", "")
    other = tmp_path / "other.toml"
    other.write_text(text, encoding="utf-8")
    assert main([str(other)]) == 2
    assert "XV-1101: the sheet needs accumulator" in capsys.readouterr().err
