"""
The commands, one file each. `arguments` says what can be typed, `output` owns standard error and the exit status.

Nothing heavy is imported before a command is chosen: `--version` and `--help` answer at once. `run` holds a visit:
`opening` opens its job file, `host` keeps it while a face talks, `dialogue` is the conversation itself, and who speaks
in it is `typist` (somebody at a keyboard) or `crew` (an answers file, on a practice unit only).
"""

import sys
from collections.abc import Sequence

from commission import __version__


def main(arguments: Sequence[str] | None = None) -> int:
    """
    Run one command; the exit status.

    Args:
        arguments: What was typed after the program's name; the process's own where None.
    """
    if list(sys.argv[1:] if arguments is None else arguments) == ["--version"]:
        sys.stdout.write(f"commission {__version__}\n")  # before what can be typed is read: that alone is 20 ms
        return 0
    return _run(arguments)


def _run(arguments: Sequence[str] | None) -> int:
    import importlib  # noqa: PLC0415  # as long to load as the interpreter takes to start; no version waits for it

    from commission.cli import output  # noqa: PLC0415  # as above
    from commission.cli.arguments import parser  # noqa: PLC0415  # as above
    from commission.cli.output import Ending, Status  # noqa: PLC0415  # as above

    chosen = parser().parse_args(arguments)
    try:
        command = importlib.import_module(f"commission.cli.{(chosen.command or 'app').replace('-', '_')}")
        return int(command.run(chosen))
    except BrokenPipeError:
        return output.nobody_reads_on()
    except KeyboardInterrupt:
        ending = Ending("ended by the keyboard", Status.DEVIATIONS)
    except Ending as known:
        ending = known
    except Exception as error:  # noqa: BLE001  # no traceback ever reaches a user
        ending = output.failed(error)
    output.say(str(ending))
    if getattr(chosen, "json", False):
        output.data_json({"error": str(ending), "status": int(ending.status)})
    return ending.status
