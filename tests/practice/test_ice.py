"""Tests of ice: nothing above freezing, erratic below, the same for the same seed."""

import math

from commission.practice.condition import Condition
from commission.practice.ice import Ice


def test_above_freezing_and_without_water_nothing_holds() -> None:
    """Neither 0 °C with water nor -10 °C without."""
    assert Ice(Condition(water_share=1.0), 1).holds_s(0.0) == 0.0
    assert Ice(Condition(), 1).holds_s(-10.0) == 0.0


def test_in_frost_it_holds_differently_each_time() -> None:
    """Never the same twice, at most 14 s, and three times in ten for good; less water never for good."""
    ice = Ice(Condition(water_share=1.0), 1)
    held = [ice.holds_s(-20.0) for _ in range(1000)]
    free = [seconds for seconds in held if seconds < math.inf]
    assert len(set(free)) == len(free)
    assert max(free) <= 14.0
    assert 0.25 < 1 - len(free) / len(held) < 0.35
    some = Ice(Condition(water_share=0.5), 1)
    assert max(some.holds_s(-20.0) for _ in range(200)) <= 10.0


def test_colder_is_worse_and_a_seed_repeats() -> None:
    """The same draw holds longer at -10 °C than at -5 °C."""
    milder, colder = (Ice(Condition(water_share=0.5), 3).holds_s(at_c) for at_c in (-5.0, -10.0))
    assert 0.0 < milder < colder
    assert colder == Ice(Condition(water_share=0.5), 3).holds_s(-10.0)
