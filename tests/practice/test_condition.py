"""Planted findings: healthy by default, and able to travel to another process."""

import msgspec
from hypothesis import given
from hypothesis import strategies as st

from commission.practice.condition import HEALTHY, Condition


def test_healthy_changes_nothing() -> None:
    """Every factor is one, and nothing replaces the sheet."""
    assert (HEALTHY.friction_factor, HEALTHY.spring_factor, HEALTHY.orifice_factor) == (1.0, 1.0, 1.0)
    assert HEALTHY.precharge_bar is HEALTHY.low_trip_delay_s is HEALTHY.volumetric_efficiency is None
    assert not HEALTHY.closed_limit_chatters


@given(st.builds(Condition, friction_factor=st.floats(0.5, 4), precharge_bar=st.none() | st.floats(1, 200)))
def test_a_condition_survives_json(condition: Condition) -> None:
    """It is handed to the serving process as text."""
    assert msgspec.json.decode(msgspec.json.encode(condition), type=Condition) == condition
