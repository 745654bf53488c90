"""`python -m commission.practice SHEET --serve URL`: serve one practice unit; says where, as JSON."""

import argparse
import asyncio
import signal
import sys
from collections.abc import Sequence
from pathlib import Path

import msgspec

from commission.content import ContentError
from commission.practice.mechanism import NotServed
from commission.practice.serve import ServedAt, serve
from commission.practice.setup import Setup
from commission.sheet import Sheet, load_sheet


def main(arguments: Sequence[str] | None = None) -> int:
    """
    Serve until SIGTERM, SIGINT or ten minutes without a client.

    Returns:
        Exit status: 0 ended as asked, 2 bad usage, sheet or address.
    """
    options = _parser().parse_args(arguments)
    try:
        setup = msgspec.json.decode(options.setup, type=Setup, strict=True)
        sheet, _ = load_sheet(options.sheet)
        asyncio.run(_serve(sheet, options, setup))
    except (ContentError, NotServed, OSError, msgspec.DecodeError, ValueError) as error:
        sys.stderr.write(f"{error}\n")
        return 2
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="commission.practice", description="Serve a practice unit.")
    parser.add_argument("sheet", type=Path, help="sheet of the unit, TOML")
    parser.add_argument("--serve", default="tcp://127.0.0.1:0", metavar="URL", help="tcp://host:port, or rtu://")
    parser.add_argument("--speed", type=float, default=1.0, help="unit time a second of wire time, 1 to 60")
    parser.add_argument("--seed", type=int, default=0, help="of the unit's noise")
    parser.add_argument("--start", choices=("closed", "open"), default="closed", help="where the valve stands")
    parser.add_argument("--meters", action="store_true", help="instruments on the bench, each on a pseudo-terminal")
    parser.add_argument("--setup", default="{}", help="condition, line, start and events, as JSON")
    return parser


async def _serve(sheet: Sheet, options: argparse.Namespace, setup: Setup) -> None:
    stop = asyncio.Event()
    loop = asyncio.get_running_loop()
    for number in (signal.SIGTERM, signal.SIGINT):  # not the loop's own handlers, which not every system has
        signal.signal(number, lambda _number, _frame: loop.call_soon_threadsafe(stop.set))
    await serve(
        sheet,
        options.serve,
        speed=options.speed,
        seed=options.seed,
        start=options.start,
        on_ready=_say,
        stop=stop,
        setup=setup,
        meters=options.meters,
    )


def _say(at: ServedAt) -> None:
    sys.stdout.write(msgspec.json.encode(at).decode() + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
