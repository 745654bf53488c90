"""Published tables that lie beside the tests as CSV."""

import csv
from pathlib import Path


def rows_of(name: str) -> list[dict[str, str]]:
    """The rows of one table, by column."""
    with (Path(__file__).parent / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
