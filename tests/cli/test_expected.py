"""Tests of `commission expected`: table and JSON, SI and US units, widths, wrong input."""

import json
from pathlib import Path

import pytest

from commission.cli import main
from commission.cli.output import Status
from commission.content import checklists_folder
from tests.cli.conftest import SHEET


def told(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    """Status, standard output and standard error."""
    capsys.readouterr()
    status = main(["expected", *(str(argument) for argument in arguments)])
    captured = capsys.readouterr()
    return status, captured.out, captured.err


@pytest.mark.parametrize("tag", ["xv-1101", "fcv-2204", "bdv-3307"])
def test_a_page_within_80_columns(
    tag: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every unit of the station; nothing on standard error."""
    monkeypatch.setenv("COLUMNS", "80")
    status, out, err = told(capsys, checklists_folder() / "units" / f"{tag}.toml", "--done", "2026-11-26")
    assert (status, err) == (Status.DONE, "")
    assert max(len(line) for line in out.splitlines()) <= 80
    assert "margin" in out
    assert "licensed people win" in out


def test_both_clocks_and_what_is_lacking(capsys: pytest.CaptureFixture[str]) -> None:
    """The regulation's words, which clock binds, whose choice it was; what the sheet leaves out."""
    _, out, _ = told(capsys, SHEET, "--done", "2024-11-20")
    flat = " ".join(out.split())
    assert "interval 2026-02-20, calendar 2025-12-31: the calendar binds" in flat
    assert "chosen by Fable River Pipeline Company" in flat
    assert "The sheet lacks" in out


def test_the_second_test_of_a_year(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Twice each calendar year: the count of this year's tests decides which clock binds."""
    text = SHEET.read_text(encoding="utf-8").replace('"gas transmission valve"', '"liquid mainline valve"')
    path = tmp_path / "liquid.toml"
    path.write_text(text, encoding="utf-8")
    _, first, _ = told(capsys, path, "--done", "2024-09-20")
    _, second, _ = told(capsys, path, "--done", "2024-09-20", "--done-in-period", "2")
    assert "2024-12-31" in first
    assert "2025-05-05" in second
    assert "half a month read as 15 days" in " ".join(second.split())


def test_us_units(capsys: pytest.CaptureFixture[str]) -> None:
    """psi, gallons and degrees Fahrenheit; the sheet's own numbers stay as they are, and that is said."""
    _, out, _ = told(capsys, SHEET, "--units", "us")
    assert "776 psi" in out
    assert "1.037 gal" in out
    assert "the sheet's own, in its units" in out


def test_json(capsys: pytest.CaptureFixture[str]) -> None:
    """One object with figures, origins, lacks and due dates."""
    status, out, _ = told(capsys, SHEET, "--json", "--done", "2026-11-26")
    found = json.loads(out)
    figures = {figure["id"]: figure for topic in found["topics"] for figure in topic["expected"]}
    assert status == Status.DONE
    assert figures["stroke.closing.time"]["value"] == pytest.approx(8.003, abs=0.001)
    assert figures["stroke.closing.time"]["origin"]
    assert found["due"][0]["latest"] == "2027-02-26"
    assert found["tag"] == "XV-1101"


def test_a_stroke_that_never_ends_is_null(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """JSON knows no infinity."""
    text = SHEET.read_text(encoding="utf-8").replace("force_at_closed_n = 46000.0", "force_at_closed_n = 9000.0")
    path = tmp_path / "weak.toml"
    path.write_text(text, encoding="utf-8")
    _, out, _ = told(capsys, path, "--json")
    figures = {figure["id"]: figure for topic in json.loads(out)["topics"] for figure in topic["expected"]}
    assert figures["stroke.closing.time"]["value"] is None
    assert figures["stroke.closing.time"]["text"] == "never"


def test_wrong_input_is_a_sentence(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """No such sheet; a rule that is none; an oil that thickens as it warms."""
    assert told(capsys, tmp_path / "none.toml")[0] == Status.USAGE
    text = SHEET.read_text(encoding="utf-8")
    for old, new in (('"gas transmission valve"', '"gas"'), ('"40" = 14.0', '"40" = 900.0')):
        path = tmp_path / "odd.toml"
        path.write_text(text.replace(old, new), encoding="utf-8")
        status, _, err = told(capsys, path)
        assert status == Status.USAGE
        assert "odd.toml" in err
        assert "failed" not in err


@pytest.mark.parametrize("bad", [["--done", "26.11.2026"], ["--done-in-period", "0"], ["--units", "imperial"]])
def test_a_bad_option_is_refused(bad: list[str]) -> None:
    """By the command line itself."""
    with pytest.raises(SystemExit):
        main(["expected", str(SHEET), *bad])
