"""`commission film-clock`: one clock, nothing else."""

import argparse

import pytest

from commission.cli import film_clock
from commission.cli.arguments import parser
from commission.cli.output import Status
from commission.terminal.film_clock import FilmClockApp


def test_the_command_shows_the_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """By a clock that runs with the laptop's own, from when it was started."""
    shown: list[FilmClockApp] = []

    def shows(app: FilmClockApp) -> None:
        shown.append(app)

    monkeypatch.setattr(FilmClockApp, "run", shows)
    assert film_clock.run(argparse.Namespace()) is Status.DONE
    (app,) = shown
    first, second = app._now_ns(), app._now_ns()
    assert 0 <= second - first < 1_000_000_000


def test_it_takes_no_job_and_no_address() -> None:
    """It is filmed beside any valve."""
    assert parser().parse_args(["film-clock"]).command == "film-clock"
