"""
Water hammer: how fast a valve in a liquid line may close, where the owner gives the line.

For information and for comparison with the owner's surge study, which rules.
"""

import math

import msgspec


class LiquidLine(msgspec.Struct, frozen=True, kw_only=True):
    """
    A liquid line upstream of a valve.

    Args:
        density_kg_m3: Of the liquid.

        wave_m_s: Speed of a pressure wave in this line.

        velocity_m_s: Of the flow that the valve stops.

        length_m: To the next point that reflects a wave.
    """

    density_kg_m3: float
    wave_m_s: float
    velocity_m_s: float
    length_m: float

    @property
    def reflection_s(self) -> float:
        """Time in which a wave comes back, 2L/a: closing within it is as hard as closing at once."""
        return 2.0 * self.length_m / self.wave_m_s

    @property
    def full_surge_pa(self) -> float:
        """Rise of a closure within the reflection time. Source: Joukowsky, Δp = ρ·a·Δv."""
        return self.density_kg_m3 * self.wave_m_s * self.velocity_m_s

    def surge_pa(self, closing_s: float) -> float:
        """
        Rise of pressure when the flow is stopped evenly in a time.

        Source: Joukowsky within the reflection time, Michaud's Δp = 2ρLΔv/t beyond it (textbook, friction left out).
        """
        if closing_s <= self.reflection_s:
            return self.full_surge_pa
        return self.full_surge_pa * self.reflection_s / closing_s

    def fastest_closing_s(self, allowed_pa: float, effective_share: float = 1.0) -> float:
        """
        Shortest whole stroke that keeps the rise within an allowance; 0 where any stroke does.

        Args:
            allowed_pa: Rise that the line may see.

            effective_share: Share of the stroke in which the valve takes most of the flow away; a ball valve does so
                in its last part, so its whole stroke has to be longer.

        Raises:
            ValueError: the allowance or the share is not above zero.
        """
        if allowed_pa <= 0 or not 0 < effective_share <= 1:
            raise ValueError("an allowance above zero and a share within 0 and 1")
        if allowed_pa >= self.full_surge_pa:
            return 0.0
        return self.full_surge_pa / allowed_pa * self.reflection_s / effective_share


def wave_speed_m_s(
    bulk_pa: float, density_kg_m3: float, bore_m: float = 0.0, wall_m: float = math.inf, steel_pa: float = 207e9
) -> float:
    """
    Speed of a pressure wave in a liquid-filled pipe.

    Args:
        bulk_pa: Bulk modulus of the liquid.

        density_kg_m3: Of the liquid.

        bore_m: Inside diameter of the pipe; 0 for a rigid one.

        wall_m: Its wall.

        steel_pa: Its modulus of elasticity.

    Source: Korteweg, a = √((K/ρ)/(1 + K·D/(E·e))) (textbook).
    """
    return math.sqrt(bulk_pa / density_kg_m3 / (1.0 + bulk_pa * bore_m / (steel_pa * wall_m)))
