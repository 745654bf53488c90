"""
Where the energy of a run went: what the pump put in is held by spring, oil and gas, or has become heat.

Each entry is reckoned by itself, from pressures and flows or from forces and ways, so that a term that somebody forgets
leaves the sum open.
"""

import math

import msgspec


class Ledger(msgspec.Struct, kw_only=True):
    """
    Work since the start, in joule.

    Args:
        pumped_j: Put in by pump and hand pump.

        throttled_j: Lost by oil on its way back to the tank.

        rubbed_j: Lost by friction of valve and packing.

        stopped_j: Lost where the rod leaps, as out of stiction, and is caught.

        warmed_j: Put in by warmth, which makes trapped oil and gas press.
    """

    pumped_j: float = 0.0
    throttled_j: float = 0.0
    rubbed_j: float = 0.0
    stopped_j: float = 0.0
    warmed_j: float = 0.0

    def open_j(self, gained_j: float) -> float:
        """What is not accounted for, given how much more energy is held than at the start."""
        put_in, lost = (self.pumped_j, self.warmed_j), (self.throttled_j, self.rubbed_j, self.stopped_j, gained_j)
        return math.fsum((*put_in, *(-part for part in lost)))
