"""Readings in words: the trade's units, bits by their words, whole numbers without a point."""

import pytest

from commission.face.reading_words import reading_words
from commission.sheet import ROLES, RoleKind


@pytest.mark.parametrize(
    ("value", "role", "words"),
    [
        (0.5, "travel", ("50.0", "%")),
        (0.012, "feedback_current", ("12.000", "mA")),
        (96e5, "cylinder_pressure", ("96.0", "bar")),
        (6.0, "starts_allowed", ("6", "")),
        (24.37, "supply_voltage", ("24.37", "V")),
        (5.34e6, "cylinder_pressure", ("53.4", "bar")),
        (0.534, "travel", ("53.4", "%")),
        (-0.0, "travel", ("0.0", "%")),
        (0.004, "feedback_current", ("4.000", "mA")),
        (24.341, "supply_voltage", ("24.34", "V")),
        (19.64, "motor_current", ("19.640", "A")),
        (21.04, "oil_temperature", ("21.0", "°C")),
        (1101.0, "identity", ("1101", "")),
        (1.0, "open_limit", ("made", "")),
        (146.52, "run_time_total", ("146.5", "s")),
    ],
)
def test_each_kind_of_reading(value: float, role: str, words: tuple[str, str]) -> None:
    """In the unit that a technician says."""
    assert reading_words(value, role) == words


def test_every_bit_has_a_word_for_both_ways() -> None:
    """No bit is shown as a number."""
    for name, role in ROLES.items():
        if role.kind is RoleKind.BIT:
            both = {reading_words(0.0, name)[0], reading_words(1.0, name)[0]}
            assert len(both) == 2, name
            assert not any(word.isdecimal() for word in both), name
