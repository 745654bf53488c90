"""`commission practice`: which units there are, and how one is served."""

import json
from pathlib import Path

import pytest

from commission.cli import main, practice
from commission.cli.output import Ending, Status
from tests.cli.conftest import SHEET


def test_units_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    """Tag and service, one a line."""
    assert main(["practice", "--list"]) == 0
    listed = capsys.readouterr().out
    assert "XV-1101  station inlet shutdown\n" in listed
    assert "BDV-3307  station blowdown\n" in listed
    assert main(["practice", "--list", "--json"]) == 0
    tags = {unit["tag"] for unit in json.loads(capsys.readouterr().out)["units"]}
    assert {"XV-1101", "FCV-2204", "BDV-3307"} <= tags


@pytest.mark.parametrize("tag", ["XV-1101", "xv-1101"])
def test_a_unit_is_found_by_its_tag(tag: str) -> None:
    """In capitals or not."""
    assert practice.sheet_of(tag) == SHEET


@pytest.mark.parametrize(
    ("tag", "hint"), [("XV-1011", "did you mean XV-1101"), ("pump", "there is BDV-3307, FCV-2204")]
)
def test_an_unknown_unit_gets_a_hint(tag: str, hint: str) -> None:
    """The nearest name, or all there are."""
    with pytest.raises(Ending, match=hint) as ending:
        practice.sheet_of(tag)
    assert ending.value.status is Status.USAGE


def test_an_address_that_cannot_be_served_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    """Status 2 with what was expected."""
    assert main(["practice", "--serve", "http://127.0.0.1"]) == Status.USAGE
    assert "tcp://" in capsys.readouterr().err


def test_scenarios_and_faults_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    """With each unit its scenarios, then the faults; as JSON by unit, only those it can have."""
    assert main(["practice", "--list"]) == 0
    listed = capsys.readouterr().out
    assert "  --scenario planted-findings: first visit" in listed
    assert "  --fault tight-packing: packing too tight" in listed
    assert main(["practice", "--list", "--json"]) == 0
    units = {unit["tag"]: unit for unit in json.loads(capsys.readouterr().out)["units"]}
    assert "rotation-reversed" in units["FCV-2204"]["faults"]
    assert "rotation-reversed" not in units["XV-1101"]["faults"]
    assert {"planted-findings", "twelve-months-later", "the-day"} <= units["XV-1101"]["scenarios"].keys()


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (["--fault", "tight-paking"], "did you mean tight-packing"),
        (["--fault", "rotation-reversed"], "XV-1101 cannot have"),
        (["--fault", "worn-pump=7"], "from 0 to 1"),
        (["--scenario", "planted"], "did you mean planted-findings"),
        (["--line", "drop=7"], "a share from 0 to 1"),
    ],
)
def test_what_cannot_be_set_up_is_said(asked: list[str], words: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Status 2 and what there is, before anything is served."""
    assert main(["practice", "--serve", "tcp://127.0.0.1:0", *asked]) == Status.USAGE
    assert words in capsys.readouterr().err


@pytest.mark.parametrize("how", ["--unattended", "--auto"])
def test_r15_no_answers_for_a_unit_that_no_link_proves(how: str, capsys: pytest.CaptureFixture[str]) -> None:
    """PCV-4410 is read by eyes, a meter and keys: nobody's answers are taken for it, and it says so at once."""
    assert main(["practice", "PCV-4410", how]) == Status.USAGE
    assert "PCV-4410: no link reads it, and answers from a file" in capsys.readouterr().err


@pytest.mark.parametrize(("tag", "speed"), [("XV-1101", 20.0), ("BDV-3307", 20.0), ("FCV-2204", 5.0)])
def test_narrow_stroke_limits_are_walked_slower(tag: str, speed: float) -> None:
    """FCV-2204 has 1.6 s between its limits, the others 4 s."""
    assert practice.unattended_speed(practice.sheet_of(tag)) == pytest.approx(speed)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (None, "own.toml"),
        ("name = 1", "own.toml"),
        ('[[steps]]\nid = "K1"', "title"),
    ],
)
@pytest.mark.parametrize("how", [[], ["--auto"], ["--unattended"]])
def test_a_checklist_that_cannot_be_walked_is_said(
    text: str | None, words: str, how: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Status 2 and what is wrong with it, before a screen opens or a unit is started."""
    own = tmp_path / "own.toml"
    if text is not None:
        own.write_text(text, encoding="utf-8")
    assert main(["practice", *how, "--checklist", str(own)]) == Status.USAGE
    said = capsys.readouterr().err
    assert words in said
    assert "Traceback" not in said


def test_a_checklist_is_for_a_walk(capsys: pytest.CaptureFixture[str]) -> None:
    """A unit that is only served knows no checklist: whoever walks it names it."""
    assert main(["practice", "--serve", "tcp://127.0.0.1:0", "--checklist", "own.toml"]) == Status.USAGE
    assert "--serve walks nothing" in capsys.readouterr().err
