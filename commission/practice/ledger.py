"""
Where the energy of a run went: what the pump put in is held by spring, oil and gas, or has become heat.

Each entry is reckoned by itself, from pressures and flows or from forces and ways, so that a term that somebody forgets
leaves the sum open.
"""

import msgspec


class Ledger(msgspec.Struct, kw_only=True):
    """
    Work since the start, in joule.

    Args:
        pumped_j: Put in by pump and hand pump.

        throttled_j: Lost by oil on its way back to the tank.

        rubbed_j: Lost by friction of valve and packing.
    """

    pumped_j: float = 0.0
    throttled_j: float = 0.0
    rubbed_j: float = 0.0

    def open_j(self, gained_j: float) -> float:
        """What is not accounted for, given how much more energy is held than at the start."""
        return self.pumped_j - self.throttled_j - self.rubbed_j - gained_j
