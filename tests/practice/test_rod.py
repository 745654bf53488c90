"""Work at the rod: sliding, standing and leaping between two sides, against sums by hand."""

import math

import pytest

from commission.practice.ledger import Ledger
from commission.practice.rod import FrictionAt, Rod
from commission.practice.side import Side

FULL_M2, RING_M2, STROKE_M = 5e-3, 4e-3, 0.1
HELD_N = 8_000.0


def constant(rod_m: float, *, positive: bool, moving: bool = True) -> float:
    """The same friction everywhere, half as much again before a motion, and a little more against the ring's oil."""
    return (HELD_N if positive else HELD_N + 400.0) * (1.0 if moving else 1.5) + 0.0 * rod_m


def no_friction(rod_m: float, *, positive: bool, moving: bool = True) -> float:
    """None, whichever way."""
    return 0.0 * (rod_m + positive + moving)


def made(friction_n: float = HELD_N) -> tuple[Rod, Side, Side, Ledger]:
    """A rod between two empty sides."""
    full, ring, ledger = Side(FULL_M2, 5e-5), Side(RING_M2, 5e-5), Ledger()
    held: FrictionAt = constant if friction_n else no_friction
    return Rod(full, ring, STROKE_M, held, (), ledger), full, ring, ledger


def held_by(side: Side, friction_n: float, reach_m: float) -> float:
    """Oil that just holds a friction."""
    return side.stored_at_m3(friction_n / side.area_m2, reach_m)


@pytest.mark.parametrize("forward", [True, False])
def test_a_slide_is_pressure_by_volume(forward: bool) -> None:  # noqa: FBT001  # which side is fed
    """20 mm at constant pressure: force by way is rubbed, nothing is caught, the rest is what the oil gained."""
    rod, full, ring, ledger = made()
    fed, drained = (full, ring) if forward else (ring, full)
    friction_n = HELD_N if forward else HELD_N + 400.0
    drained.behind_pa = 2e5
    load_n = friction_n + 2e5 * drained.area_m2
    begins_m, ends_m = (0.03, 0.05) if forward else (0.05, 0.03)

    def reach(rod_m: float) -> float:
        return rod_m if forward else STROKE_M - rod_m

    before_m3 = held_by(fed, load_n, reach(begins_m))
    fed.stored_m3 = before_m3
    before_j = fed.energy_j(reach(begins_m))
    fed.stored_m3 = held_by(fed, load_n, reach(ends_m))
    worked_j = rod.worked_j(fed, fed.stored_m3 - before_m3, begins_m, ends_m, 1 if forward else -1)
    assert ledger.rubbed_j == pytest.approx(friction_n * 0.02, rel=1e-12)
    assert ledger.stopped_j == 0.0
    assert worked_j == pytest.approx(load_n * 0.02 + fed.energy_j(reach(ends_m)) - before_j, rel=1e-11)


def test_a_rod_that_stands_takes_only_what_the_oil_gains() -> None:
    """Below the edge nothing moves and nothing is rubbed."""
    rod, full, ring, ledger = made()
    ring.behind_pa = 0.0
    full.stored_m3 = held_by(full, HELD_N / 2, 0.03)
    more_m3 = full.stored_m3 - held_by(full, HELD_N / 4, 0.03)
    gained_j = full.energy_j(0.03)
    full.stored_m3 -= more_m3
    gained_j -= full.energy_j(0.03)
    full.stored_m3 += more_m3
    assert rod.worked_j(full, more_m3, 0.03, 0.03, 0) == pytest.approx(gained_j, rel=1e-12)
    assert (ledger.rubbed_j, ledger.stopped_j) == (0.0, 0.0)


def test_a_rod_that_stuck_leaps_and_is_caught() -> None:
    """Half as much friction again before it moves: what the oil gave over, and friction did not take, is caught."""
    rod, full, ring, ledger = made()
    ring.behind_pa = 0.0
    full.stored_m3 = held_by(full, 1.5 * HELD_N, 0.03)
    before_j = full.energy_j(0.03)
    ends_m = 0.03
    while full.pressure_pa(ends_m) * FULL_M2 > HELD_N:
        ends_m += 1e-7
    worked_j = rod.worked_j(full, 0.0, 0.03, ends_m, 0)
    lost_j = before_j - full.energy_j(ends_m)
    assert ledger.stopped_j > 0.0
    assert ledger.rubbed_j == pytest.approx(HELD_N * (ends_m - 0.03), rel=1e-9)
    assert math.fsum((ledger.rubbed_j, ledger.stopped_j)) == pytest.approx(lost_j + worked_j, rel=1e-6)


def test_a_leap_without_friction_is_caught_whole() -> None:
    """Two shut sides out of balance: all that they lose."""
    rod, full, ring, ledger = made(0.0)
    full.stored_m3, ring.stored_m3 = held_by(full, 20_000.0, 0.05), held_by(ring, 10_000.0, 0.05)
    before_j = full.energy_j(0.05) + ring.energy_j(0.05)
    assert rod.push_n(0.05) == pytest.approx(10_000.0, rel=1e-6)
    rod.leap(0.05, 0.0501)
    after_j = full.energy_j(0.0501) + ring.energy_j(0.0499)
    assert ledger.stopped_j == pytest.approx(before_j - after_j, rel=1e-7)
    assert ledger.rubbed_j == 0.0
    rod.leap(0.05, 0.05)
    assert ledger.stopped_j == pytest.approx(before_j - after_j, rel=1e-7)
