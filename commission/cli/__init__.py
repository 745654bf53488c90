"""
The commands, one file each. `arguments` says what can be typed, `output` owns standard error and the exit status.

Nothing heavy is imported before a command is chosen: `--version` and `--help` answer at once.
"""

import importlib
import sys
from collections.abc import Sequence

from commission.cli import output
from commission.cli.arguments import parser
from commission.cli.output import Status


def main(arguments: Sequence[str] | None = None) -> int:
    """
    Run one command; the exit status.

    Args:
        arguments: What was typed after the program's name; the process's own where None.
    """
    chosen = parser().parse_args(arguments)
    if chosen.command is None:
        parser().print_help()
        return Status.USAGE
    try:
        command = importlib.import_module(f"commission.cli.{chosen.command}")
        return int(command.run(chosen))
    except output.Ending as ending:
        output.say(str(ending))
        return ending.status
    except BrokenPipeError:
        sys.stderr.close()
        return Status.USAGE
    except Exception as error:  # noqa: BLE001  # no traceback ever reaches a user
        return output.failed(error)
