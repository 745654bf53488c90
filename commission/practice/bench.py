"""
The instruments on the bench beside a practice unit, each on a pseudo-terminal of its own.

M-03 measures the feedback current, G-11 the cylinder's pressure, C-07 says what it puts on the command loop. Each has
an error of its own, fixed for the seed and within what its certificate allows, so that readings differ from the unit's.
"""

import asyncio
import os
import random
import tty
from collections.abc import Callable
from contextlib import suppress

from commission.practice.mechanism import PA_PER_BAR
from commission.practice.scpi import INFINITE, Instrument
from commission.practice.unit import PracticeUnit

_LONGEST_LINE = 256
_CLAMP_MA = 0.015
_GAUGE_BAR = 0.35
_CALIBRATOR_MA = 0.006
_CLAMP_MOST_MA = 100.0
_GAUGE_MOST_BAR = 250.0


def instruments_of(unit: PracticeUnit, seed: int) -> dict[str, Instrument]:
    """The three instruments on one unit, by their labels."""
    chance = random.Random(seed)  # noqa: S311  # errors of instruments, not secrets
    errors = {name: chance.uniform(-1, 1) for name in ("M-03", "G-11", "C-07")}

    def clamp_a() -> float:
        loop_ma = unit.sensor.feedback_ma(unit.sensed_pct) if unit.side.loop_24v and unit.side.control_on else 0.0
        read_ma = round(loop_ma + errors["M-03"] * _CLAMP_MA, 2)
        return read_ma / 1000 if abs(read_ma) <= _CLAMP_MOST_MA else INFINITE

    def gauge_bar() -> float:
        bar = unit.hydraulics.pressure_pa / PA_PER_BAR + errors["G-11"] * _GAUGE_BAR
        return round(bar, 1) if bar <= _GAUGE_MOST_BAR else INFINITE

    def source_a() -> float:
        return round(unit.side.command_now + errors["C-07"] * _CALIBRATOR_MA, 3) / 1000

    return {
        "M-03": _named("M-03", {"MEASure:CURRent[:DC]": clamp_a, "READ": clamp_a, "FETCh": clamp_a}),
        "G-11": _named("G-11", {"MEASure:PRESsure": gauge_bar, "READ": gauge_bar}),
        "C-07": _named("C-07", {"SOURce:CURRent[:LEVel]": source_a}),
    }


def _named(label: str, questions: dict[str, Callable[[], float]]) -> Instrument:
    return Instrument(f"PRACTICE,BENCH,{label},1.0", questions)


class Terminal:
    """
    A pseudo-terminal that an instrument answers on.

    Args:
        instrument: Who answers.

        catch_up: Brings the unit to the present before anything is measured.
    """

    def __init__(self, instrument: Instrument, catch_up: Callable[[], None]) -> None:
        self._instrument = instrument
        self._catch_up = catch_up
        self._got = b""
        self._ours, self._clients = os.openpty()
        tty.setraw(self._clients)
        os.set_blocking(self._ours, False)
        self.path = os.ttyname(self._clients)

    def open(self) -> None:
        """Start answering."""
        asyncio.get_running_loop().add_reader(self._ours, self._readable)

    def close(self) -> None:
        """Stop, and take the terminal away."""
        asyncio.get_running_loop().remove_reader(self._ours)
        os.close(self._ours)
        os.close(self._clients)

    def _readable(self) -> None:
        with suppress(BlockingIOError):
            self._got += os.read(self._ours, 4096)
        while b"\n" in self._got:
            line, self._got = self._got.split(b"\n", 1)
            self._catch_up()
            answer = self._instrument.answer(line.decode("ascii", errors="replace").strip())
            if answer:
                with suppress(BlockingIOError):
                    os.write(self._ours, answer.encode() + b"\n")
        self._got = self._got[-_LONGEST_LINE:]
