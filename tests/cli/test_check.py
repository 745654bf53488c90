"""`commission check`: all mistakes of all files, each with its place."""

import json
from pathlib import Path

import pytest

from commission.cli import main
from commission.cli.check import check_file
from tests.cli.conftest import ANSWERS, COMMISSIONING, SHEET


@pytest.mark.parametrize("path", [SHEET, COMMISSIONING, ANSWERS, COMMISSIONING.with_name("stroke.toml")])
def test_what_is_packed_is_sound(path: Path) -> None:
    """Sheets, checklists and answers that the program carries."""
    assert check_file(path) == []


def test_a_file_of_no_known_kind_says_what_was_expected(tmp_path: Path) -> None:
    """TOML that is none of the three."""
    path = tmp_path / "other.toml"
    path.write_text('title = "other"\n', encoding="utf-8")
    assert "expected a table [identity], [[steps]] or [[answers]]" in str(check_file(path)[0])


def test_every_mistake_of_a_file_is_said_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two slips give two sentences, each with file and place, and a count; status 2."""
    path = tmp_path / "sheet.toml"
    text = SHEET.read_text(encoding="utf-8").replace("serial =", "seriall =").replace("firmware =", "firmwar =")
    path.write_text(text, encoding="utf-8")
    assert main(["check", str(path)]) == 2
    said = capsys.readouterr().err
    assert said.count("sheet.toml: identity") >= 2
    assert "did you mean 'serial'?" in said
    assert "problems" in said.splitlines()[-1]


def test_one_sound_file_does_not_hide_an_unsound_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Status 2 as soon as one has a problem; the sound one is called sound."""
    assert main(["check", str(SHEET), str(tmp_path / "nowhere.toml"), "--json"]) == 2
    captured = capsys.readouterr()
    assert "xv-1101.toml: sound" in captured.err
    files = json.loads(captured.out)["files"]
    assert [bool(file["problems"]) for file in files] == [False, True]


@pytest.mark.parametrize("kind", ["sheet", "checklist"])
def test_a_schema_is_printed_for_editors(kind: str, capsys: pytest.CaptureFixture[str]) -> None:
    """A JSON Schema on standard output, nothing else."""
    assert main(["check", "--schema", kind]) == 0
    captured = capsys.readouterr()
    assert "properties" in captured.out
    assert json.loads(captured.out)["$schema"].startswith("https://json-schema.org/")
    assert captured.err == ""
