"""Safety rule R26: no band, no claim: the program never says that a rule or law is complied with."""

import re
import tokenize
from pathlib import Path

import pytest

from commission.cli import main
from commission.report.contents import contents
from commission.report.text import as_text
from tests.report.jobs import good_visit

ROOT = Path(__file__).parents[2]
CLAIM = re.compile(
    r"\b(complies with|compliant with|in compliance with|conforms to|certified (to|according)|meets the requirements of"
    r"|SIL\s?[1-4]|safety integrity level [1-4])\b",
    re.IGNORECASE,
)
TEXTS = sorted([*(ROOT / "checklists").rglob("*.toml"), *(ROOT / "commission").rglob("*.typ"), ROOT / "README.md"])
MODULES = sorted((ROOT / "commission").rglob("*.py"))


@pytest.mark.parametrize("path", [path for path in TEXTS if path.exists()], ids=lambda path: path.name)
def test_r26_no_text_claims_compliance(path: Path) -> None:
    """Checklists, the report's layout and the README."""
    assert not CLAIM.search(path.read_text(encoding="utf-8"))


def test_r26_no_sentence_of_the_program_claims_compliance() -> None:
    """Every string in the package, docstrings too."""
    found = [f"{path.name}: {text[:60]}" for path in MODULES for text in _strings(path) if CLAIM.search(text)]
    assert not found


def _strings(path: Path) -> list[str]:
    with path.open("rb") as file:
        return [token.string for token in tokenize.tokenize(file.readline) if token.type == tokenize.STRING]


@pytest.mark.parametrize("claim", ["complies with IEC 61511", "SIL 2", "in compliance with the law"])
def test_r26_the_search_finds_claims(claim: str) -> None:
    """A check that could not fail would prove nothing."""
    assert CLAIM.search(claim)


def test_r26_the_probability_is_never_in_the_report() -> None:
    """The sheet holds all its inputs; the as-left report, its text and its exports say nothing of it."""
    visit = good_visit()
    assert visit.job.sheet.reliability is not None
    made = contents(
        visit.job,
        visit.traces,
        head_digest="9f2c4e81" * 8,
        events=len(visit.events),
        interim=False,
        made_utc="2026-11-24T16:20:00+00:00",
    )
    for printed in (as_text(made), str(made)):
        assert "PFD" not in printed
        assert "failure on demand" not in printed
        assert "undetected" not in printed


def test_r26_it_is_printed_for_the_final_element_only_with_every_name(capsys: pytest.CaptureFixture[str]) -> None:
    """`commission expected` says that it is a help and no claim, and who gave each input."""
    sheet = ROOT / "checklists" / "units" / "xv-1101.toml"
    assert main(["expected", str(sheet)]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "Final element only, a help and no claim" in out
    assert out.count("(P. Exampler)") >= 12
    assert not CLAIM.search(out)
