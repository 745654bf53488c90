"""`commission stroke`: one stroke, from a sheet or in a job."""

import argparse
from pathlib import Path

import pytest

from commission.cli import stroke
from commission.cli.output import Status
from commission.sheet import End


@pytest.mark.parametrize("direction", ["open", "closed"])
def test_a_stroke_is_a_visit_with_its_own_checklist(direction: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The packed checklist of one stroke, and the end that was asked for, are what the visit is held with."""
    held: list[tuple[str, End | None]] = []

    def hold(_chosen: argparse.Namespace, checklist: Path, end: End | None) -> Status:
        held.append((checklist.name, end))
        return Status.DONE

    monkeypatch.setattr(stroke, "visit_from", hold)
    assert stroke.run(argparse.Namespace(direction=direction)) is Status.DONE
    assert held == [("stroke.toml", End(direction))]
