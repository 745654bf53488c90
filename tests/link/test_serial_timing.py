"""Byte times of a serial line."""

import msgspec
import pytest

from commission.link.serial_timing import actual_character_s, character_s, gap_s
from tests.link.lines import demo_sheet


def test_gap_is_three_and_a_half_characters_up_to_19200_and_fixed_above() -> None:
    """The rule changes above 19200 baud (the published numbers are in tests/published)."""
    assert gap_s(9600) == pytest.approx(3.5 * 11 / 9600)
    assert gap_s(19200) == pytest.approx(3.5 * character_s(19200))
    assert gap_s(38400) == gap_s(115200) == 0.00175


@pytest.mark.parametrize(("parity", "stop_bits", "bits"), [("E", 1, 11), ("N", 2, 11), ("N", 1, 10), ("O", 2, 11)])
def test_actual_character_is_never_longer_than_eleven_bits(parity: str, stop_bits: int, bits: int) -> None:
    """What is taken off a window is the character as the port is set, at most 11 bits."""
    settings = msgspec.structs.replace(demo_sheet().link, parity=parity, stop_bits=stop_bits, baud=9600)
    assert actual_character_s(settings) == pytest.approx(bits / 9600)
