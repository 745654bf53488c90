"""
What the physics of a practice unit costs: processor time against the unit time that it played, in one run. Marked
`alone`: beside other work a core gives less for the same time.
"""

import statistics
import sys
import time
from collections.abc import Callable

import pytest

from commission.practice.orders import Order
from commission.practice.unit import PracticeUnit
from tests.practice.made import SHEETS, unit_of

pytestmark = pytest.mark.alone

LARGEST_SHARE = 0.05
"""Of one core, for a hundred readings a second."""

SPEED = 20.0
RUNS = 5
STROKE_S = 6.0


def closing(unit: PracticeUnit) -> None:
    """By the spring."""
    unit.order(Order.CLOSE, remote=True)


def opening(unit: PracticeUnit) -> None:
    """By the spring, of a unit that oil closes."""
    unit.order(Order.OPEN, remote=True)


def to_the_middle(unit: PracticeUnit) -> None:
    """By the command signal: 12 mA, or 6 V."""
    command = unit.sheet.modulating.command if unit.sheet.modulating else None
    assert command is not None
    unit.side.command_signal = (command.at_closed + command.at_open) / 2


STROKES: dict[str, tuple[str, Callable[[PracticeUnit], None]]] = {
    "XV-1101": ("open", closing),
    "BDV-3307": ("closed", opening),
    "FCV-2204": ("open", to_the_middle),
    "PCV-4410": ("open", to_the_middle),
}


def share_of_a_core(tag: str, **faults: object) -> float:
    """Processor time a second of unit time, over a stroke that is read a hundred times a second; the best of a few."""
    start, go = STROKES[tag]
    shares = []
    for _ in range(RUNS):
        unit = unit_of(SHEETS[tag], start, 7, **faults)
        go(unit)
        begun_s = time.process_time()
        for _ in range(round(STROKE_S * 100)):
            unit.advance(0.01)
            unit.readings()
        shares.append((time.process_time() - begun_s) / STROKE_S)
    return min(shares)


@pytest.mark.parametrize("tag", STROKES)
def test_a_hundred_readings_a_second_take_little_of_a_core(tag: str) -> None:
    """In motion, the dearest state, each unit takes less than 5 % of a core in real time; printed with -s."""
    share = share_of_a_core(tag)
    sys.stdout.write(f"\n{tag}: {100 * share:.1f} % of a core at 100 Hz; {100 * share * SPEED:.0f} % at --speed 20\n")
    assert share < LARGEST_SHARE


@pytest.mark.parametrize("tag", STROKES)
def test_twenty_times_speed_fits_one_core(tag: str) -> None:
    """At --speed 20 a moving unit leaves half a core to its wire."""
    assert share_of_a_core(tag) * SPEED < 0.5


def test_faults_cost_little_more() -> None:
    """Stick-slip, a gall and leaks together take less than four times the processor time of a sound unit."""
    sound = statistics.median(share_of_a_core("XV-1101") for _ in range(3))
    faulty = share_of_a_core(
        "XV-1101",
        stiction_share=0.5,
        gall_factor=2.0,
        dump_leak_ml_h=500.0,
        external_leak_ml_h=500.0,
        free_air_ml=100.0,
    )
    assert faulty < 4.0 * sound
