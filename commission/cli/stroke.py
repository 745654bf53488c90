"""
`commission stroke`: time one full stroke.

In a job whose commands were proved in control, the laptop commands it. On a sheet alone nothing has been proved, so it
is commanded elsewhere and watched (safety rules R8, R19).
"""

import argparse

from commission.cli.opening import checklist_of
from commission.cli.output import Status
from commission.cli.run import visit_from
from commission.sheet import End


def run(chosen: argparse.Namespace) -> Status:
    """Hold a visit for one stroke."""
    return visit_from(chosen, checklist_of(chosen, "stroke.toml"), End(chosen.direction))
