"""Safety rule R26: no band, no claim: the program never says that a rule or law is complied with."""

import re
import tokenize
from pathlib import Path

import pytest

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
