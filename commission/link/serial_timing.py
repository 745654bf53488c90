"""
How long bytes take on a serial line.

Source: MODBUS over Serial Line Specification and Implementation Guide V1.02, 2.5.1.1: characters of 11 bits; a silence
of 3.5 characters between frames, fixed at 1.750 ms above 19200 baud.
"""

from commission.sheet.model import LinkSettings

_CHARACTER_BITS = 11


def character_s(baud: int) -> float:
    """Seconds that one character of 11 bits takes."""
    return _CHARACTER_BITS / baud


def actual_character_s(settings: LinkSettings) -> float:
    """
    Seconds that one character takes as the port is set: 10 bits without parity and with one stop bit.

    Used where a byte time is taken *off* a window, so that it is never taken off too long.
    """
    bits = 1 + 8 + (settings.parity != "N") + settings.stop_bits
    return min(bits, _CHARACTER_BITS) / settings.baud


def gap_s(baud: int) -> float:
    """The silence of 3.5 characters that separates frames, in seconds."""
    return 3.5 * character_s(baud) if baud <= 19200 else 0.00175
