"""`commission film-clock`: the clock that is filmed together with the stem (safety rule R19)."""

import argparse

from commission.cli.output import Status
from commission.clock import Clock


def run(_chosen: argparse.Namespace) -> Status:
    """Show the clock until somebody ends it."""
    from commission.terminal.console import console  # noqa: PLC0415  # a terminal library only where it is shown
    from commission.terminal.film_clock import FilmClockApp  # noqa: PLC0415

    FilmClockApp(Clock().wire_ns, drawing=console().drawing).run()
    return Status.DONE
