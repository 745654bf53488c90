"""Where jobs are looked for."""

import argparse
from pathlib import Path

import pytest

from commission.cli.folder import folder_of


@pytest.mark.parametrize("name", ["folder", "out"])
def test_the_one_asked_for_is_taken(name: str) -> None:
    """By either of its names."""
    assert folder_of(argparse.Namespace(**{name: Path("jobs")})) == Path("jobs")


def test_the_users_own_is_taken_where_none_is_asked_for() -> None:
    """In the documents of whoever sits there."""
    assert folder_of(argparse.Namespace(folder=None)).name == "commission"
