"""Tests of the two clocks."""

import asyncio
import math
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.clock import NS_PER_S, Clock, system_utc
from tests.virtual_time import run_virtual, virtual_clock

NOON = datetime(2026, 5, 12, 12, 0, tzinfo=UTC)


class HandWound:
    """A wire clock that moves only when it is told, or by a fixed step at each question."""

    def __init__(self, step_ns: int = 0) -> None:
        self.ns = 5_000 * NS_PER_S
        self._step_ns = step_ns

    def __call__(self) -> int:
        """The reading now."""
        self.ns += self._step_ns
        return self.ns


def make_clock(wire: HandWound) -> Clock:
    """A clock on the hand-wound wire clock, at noon."""
    return Clock(wire_ns=wire, utc=lambda: NOON, spin_s=0.0)


def test_unit_time_is_wire_time_on_a_real_unit() -> None:
    """Without a speed both clocks read the same, to the nanosecond."""
    wire = HandWound()
    clock = make_clock(wire)
    wire.ns += 123_456_789
    assert (clock.unit_ns(), clock.wire_ns()) == (wire.ns, wire.ns)
    assert clock.speed == 1.0


def test_unit_time_runs_faster_on_a_practice_unit() -> None:
    """At speed 20 one second of wire time is 20 s of unit time, counted from the change."""
    wire = HandWound()
    clock = make_clock(wire)
    wire.ns += NS_PER_S
    before_ns = clock.unit_ns()
    clock.run_at(20.0)
    assert clock.unit_ns() == before_ns
    wire.ns += NS_PER_S
    assert clock.unit_ns() - before_ns == 20 * NS_PER_S


@given(st.lists(st.tuples(st.floats(0.01, 200.0), st.integers(min_value=0, max_value=10**13)), min_size=1, max_size=8))
def test_unit_time_never_goes_back_whatever_the_speeds(legs: list[tuple[float, int]]) -> None:
    """Any sequence of speeds and waits leaves unit time rising, and gains what each leg says, to a nanosecond."""
    wire = HandWound()
    clock = make_clock(wire)
    for speed, wait_ns in legs:
        before_ns = clock.unit_ns()
        clock.run_at(speed)
        wire.ns += wait_ns
        gained_ns = clock.unit_ns() - before_ns
        assert abs(gained_ns - wait_ns * speed) <= 1 + wait_ns * speed * 1e-15


def test_a_change_of_speed_asks_the_wire_clock_once() -> None:
    """Time that passes between two questions would be lost from unit time: with one question nothing is."""
    wire = HandWound(step_ns=1000)
    clock = make_clock(wire)
    clock.run_at(1.0)
    assert clock.unit_of_wire(wire.ns) == wire.ns


@pytest.mark.parametrize("speed", [0.0, -1.0, math.nan, math.inf], ids=["zero", "negative", "nan", "infinite"])
def test_a_speed_that_is_none_is_refused_and_changes_nothing(speed: float) -> None:
    """A speed has to be a finite number above zero; the clock stays as it was."""
    clock = make_clock(HandWound())
    with pytest.raises(ValueError, match="speed must be a number above 0"):
        clock.run_at(speed)
    assert clock.speed == 1.0


def test_utc_is_the_laptops_clock_on_a_real_unit() -> None:
    """At speed 1 UTC is exactly what the laptop says, although each question takes a moment."""
    assert make_clock(HandWound(step_ns=700)).utc() == NOON


def test_utc_gains_with_unit_time_on_a_practice_unit() -> None:
    """Ten wire seconds at speed 6 are a minute of the visit: UTC has gained the 50 s between."""
    wire = HandWound()
    clock = make_clock(wire)
    clock.run_at(6.0)
    wire.ns += 10 * NS_PER_S
    assert clock.utc() == NOON + timedelta(seconds=50)


def test_the_laptops_own_clock_is_in_utc() -> None:
    """The calendar clock knows its zone, so that two records can be compared."""
    assert system_utc().utcoffset() == timedelta(0)


def test_waits_are_of_the_clock_they_name() -> None:
    """In virtual time: a wire wait takes its seconds, a unit wait a tenth of them at speed 10, none goes negative."""

    async def waits() -> tuple[float, float, float]:
        clock = virtual_clock()
        clock.run_at(10.0)
        started = asyncio.get_running_loop().time()
        await clock.sleep_wire(2.0)
        wire_s = asyncio.get_running_loop().time() - started
        await clock.sleep_unit(5.0)
        unit_s = asyncio.get_running_loop().time() - started - wire_s
        await clock.sleep_unit(-3.0)
        await clock.sleep_wire(-3.0)
        return wire_s, unit_s, asyncio.get_running_loop().time() - started - wire_s - unit_s

    wire_s, unit_s, negative_s = run_virtual(waits())
    assert wire_s == pytest.approx(2.0, abs=1e-3)
    assert unit_s == pytest.approx(0.5, abs=1e-3)
    assert negative_s == pytest.approx(0.0, abs=1e-3)


def test_an_exact_wait_ends_at_its_moment_and_never_before() -> None:
    """`until_wire` reaches the moment; one that has passed is not waited for."""

    async def wait() -> tuple[int, int, int]:
        clock = virtual_clock()
        goal_ns = clock.wire_ns() + 3 * NS_PER_S
        await clock.until_wire(goal_ns)
        reached_ns = clock.wire_ns()
        await clock.until_wire(goal_ns - NS_PER_S)
        return goal_ns, reached_ns, clock.wire_ns()

    goal_ns, reached_ns, after_ns = run_virtual(wait())
    assert goal_ns <= reached_ns < goal_ns + 2_000_000
    assert after_ns == reached_ns


def test_an_exact_wait_in_unit_time_is_as_exact() -> None:
    """At speed 10 a moment of unit time is reached in a tenth of the wire time, and never before it."""

    async def wait() -> tuple[int, int, int]:
        clock = virtual_clock()
        clock.run_at(10.0)
        began_ns, goal_ns = clock.wire_ns(), clock.unit_ns() + 5 * NS_PER_S
        await clock.until_unit(goal_ns)
        return goal_ns, clock.unit_ns(), clock.wire_ns() - began_ns

    goal_ns, reached_ns, waited_ns = run_virtual(wait())
    assert goal_ns <= reached_ns < goal_ns + 20_000_000
    assert waited_ns == pytest.approx(NS_PER_S / 2, rel=1e-3)


def test_an_exact_wait_spins_its_last_part() -> None:
    """With a real wire clock the wait ends on the first reading at or past its moment."""
    wire = HandWound(step_ns=10_000)
    clock = Clock(wire_ns=wire, utc=lambda: NOON, spin_s=0.01)
    goal_ns = wire.ns + 5_000_000
    asyncio.run(clock.until_wire(goal_ns))
    assert goal_ns <= wire.ns < goal_ns + 20_000
