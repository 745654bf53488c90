"""What a loop current says before anybody reads a value out of it: whether it is a measurement at all."""

from enum import StrEnum


class LoopState(StrEnum):
    """The state of a 4–20 mA signal."""

    MEASURING = "measuring"
    FAILURE_LOW = "failure, low"
    FAILURE_HIGH = "failure, high"
    UNDEFINED = "undefined"

    @property
    def is_reading(self) -> bool:
        """Whether the current may be taken as a value; anything else is *no reading*, never zero (safety rule R2)."""
        return self is LoopState.MEASURING


def loop_state(current_a: float) -> LoopState:
    """
    What a loop current means, in amperes.

    Measurement 3.8 … 20.5 mA, failure at 3.6 mA and below or 21.0 mA and above; between those bands neither is said.

    Source: NAMUR NE 43, as told in public articles on it; the bands between are not named there alike.
    """
    # A register of whole microamperes scaled in binary floats must not fall off the edge it stands on.
    current_ma = round(current_a * 1e3, 6)
    if current_ma <= 3.6:
        return LoopState.FAILURE_LOW
    if current_ma >= 21.0:
        return LoopState.FAILURE_HIGH
    return LoopState.MEASURING if 3.8 <= current_ma <= 20.5 else LoopState.UNDEFINED
