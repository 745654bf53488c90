"""How far, how long and how fast a partial stroke may go."""

import msgspec
import pytest

from commission.procedures.partial_bounds import (
    before_time_out_s,
    breakaway_s,
    fastest,
    longest_back_s,
    longest_out_s,
    lowest_pressure_pa,
    over_travel,
    start_end,
)
from commission.procedures.partial_told import Told
from commission.sheet import End
from commission.sheet.model import PartialStroke
from tests.analysis.partials import baseline
from tests.analysis.seen import SHEET

assert SHEET.partial_stroke is not None
PLAN: PartialStroke = SHEET.partial_stroke
TOLD = Told(test="L2 1", line_change_bar=2.0)


def test_limits_come_from_the_baseline_where_there_is_one() -> None:
    """Breakaway x 2, speed x 1.5, half the pressure at the target; else from the sheet."""
    told = Told(test="L4 1", baseline=baseline())
    assert breakaway_s(PLAN, told) == pytest.approx(2.5, abs=0.1)
    assert breakaway_s(PLAN, TOLD) == 5.0
    assert fastest(PLAN, told) == pytest.approx(0.0223, abs=0.0004)
    assert fastest(PLAN, TOLD) == pytest.approx(0.0225)
    assert lowest_pressure_pa(told) == pytest.approx(23e5, abs=1e5)
    assert lowest_pressure_pa(TOLD) == 5e5
    assert longest_out_s(SHEET, PLAN, TOLD) == 19.0
    assert longest_out_s(SHEET, PLAN, told) == pytest.approx(17.5, abs=0.1)
    assert over_travel(PLAN) == pytest.approx(0.175)


def test_the_laptop_returns_before_the_units_own_travel_time_out() -> None:
    """A slow valve: after that alarm nothing may be sent, and the unit would carry out our command to its end."""
    plan = msgspec.structs.replace(PLAN, turned_by="laptop")
    assert SHEET.protections.travel_timeout_close_s == 15.0
    told = Told(test="L2 1", cycle_s=0.12, latency_s=0.05)
    assert longest_out_s(SHEET, plan, told) == pytest.approx(15.0 - 1.0 - 0.36 - 0.05)
    read_back = Told(test="L2 1", cycle_s=0.12, latency_s=0.05, settings={"travel_timeout_close": "12"})
    assert before_time_out_s(SHEET, read_back) == pytest.approx(12.0 - 1.41)
    quicker = msgspec.structs.replace(plan, out_s=4.0)
    assert longest_out_s(SHEET, quicker, TOLD) == 8.0


def test_it_leaves_the_end_that_is_not_the_fail_position() -> None:
    """And has once and a half the sheet's time to come back to it."""
    opens = msgspec.structs.replace(SHEET, actuator=msgspec.structs.replace(SHEET.actuator, fail_position=End.OPEN))
    assert start_end(SHEET) is End.OPEN
    assert start_end(opens) is End.CLOSED
    assert longest_back_s(PLAN) == pytest.approx(42.0)
