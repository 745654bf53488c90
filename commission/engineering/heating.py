"""A heater against the cold: how warm the oil gets, how long that takes, what it needs."""

import math

import msgspec


class HeatBalance(msgspec.Struct, frozen=True, kw_only=True):
    """
    An oil tank as one lump of heat.

    Args:
        heater_w: Power of the heater.

        loss_w_k: Heat lost for each kelvin above ambient.

        capacity_j_k: Heat that warms oil and steel by one kelvin.

    Raises:
        ValueError: a value is not above zero.
    """

    heater_w: float
    loss_w_k: float
    capacity_j_k: float

    def __post_init__(self) -> None:
        """A balance has two sides and a mass."""
        if min(self.heater_w, self.loss_w_k, self.capacity_j_k) <= 0:
            raise ValueError("power, loss and capacity above zero")

    @property
    def time_constant_s(self) -> float:
        """Time to 63 % of the final rise."""
        return self.capacity_j_k / self.loss_w_k

    @property
    def rise_k(self) -> float:
        """How far above ambient the heater can hold the oil for ever."""
        return self.heater_w / self.loss_w_k

    def warm_up_s(self, ambient_c: float, from_c: float, to_c: float) -> float:
        """
        Time from one oil temperature to another, in seconds; infinite where the heater never gets there.

        Source: first-order heat balance (textbook): t = τ·ln((T∞ − T1)/(T∞ − T2)).
        """
        if to_c <= from_c:
            return 0.0
        final_c = ambient_c + self.rise_k
        if final_c <= to_c:
            return math.inf
        return self.time_constant_s * math.log((final_c - from_c) / (final_c - to_c))

    def cool_down_s(self, ambient_c: float, from_c: float, to_c: float) -> float:
        """Time in which the oil cools with the heater off; infinite where ambient is not below."""
        if to_c >= from_c:
            return 0.0
        if ambient_c >= to_c:
            return math.inf
        return self.time_constant_s * math.log((from_c - ambient_c) / (to_c - ambient_c))

    def duty(self, ambient_c: float, hold_c: float) -> float:
        """Share of the time that the heater is on to hold a temperature; above 1 where it cannot."""
        return max(0.0, (hold_c - ambient_c) / self.rise_k)


def heat_j(volume_m3: float, density_kg_m3: float, heat_j_kg_k: float, rise_k: float) -> float:
    """Heat that warms a volume of oil, without losses."""
    return volume_m3 * density_kg_m3 * heat_j_kg_k * rise_k
