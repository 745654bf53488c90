"""Tests of the JSON Schema for editors (jsonschema as independent reference)."""

import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from commission.sheet.schema import DIALECT, sheet_schema
from tests.sheet.test_sheet import SHEETS
from tests.sheet.xv import changed_text


def errors_of(table: dict[str, Any]) -> list[str]:
    """What the schema finds wrong."""
    validator = jsonschema.Draft202012Validator(sheet_schema())
    return [error.message for error in validator.iter_errors(table)]


def test_it_is_a_schema_of_its_dialect() -> None:
    """The schema is itself valid, and names its dialect for the editor."""
    schema = sheet_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["$schema"] == DIALECT


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.stem)
def test_every_shipped_sheet_agrees_with_it(path: Path) -> None:
    """What loads is valid."""
    assert errors_of(tomllib.loads(path.read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("bore_mm = 125.0", "bor_mm = 125.0"),
        ("bore_mm = 125.0", "bore_mm = 0"),
        ("bore_mm = 125.0", 'bore_mm = "125"'),
        ('order = "CDAB"', 'order = "CDBA"'),
        ("unit_id = 11", "unit_id = 0"),
        ("holds_without_power = false\n", ""),
    ],
    ids=["unknown field", "out of bounds", "text for a number", "unknown word", "unit 0", "missing"],
)
def test_what_is_refused_is_marked_by_it_too(old: str, new: str) -> None:
    """Editors mark the mistakes of single fields while they are typed."""
    assert errors_of(tomllib.loads(changed_text((old, new))))


def test_descriptions_reach_the_editor() -> None:
    """Docstrings of the model become what an editor shows."""
    assert "trapped volume" in sheet_schema()["$defs"]["Volume"]["description"]
