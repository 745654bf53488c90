"""One side of the piston of a double-acting cylinder."""

from commission.practice.oil import Space

DEAD_M3 = 20e-6
AIR_M3 = 0.5e-6


class Side:
    """
    One side of the piston: its area and the oil in it. Led to the tank it stands at `behind_pa`, else that is None.

    Args:
        area_m2: Of the piston on this side.

        flow_m3_s: What its flow control lets in.
    """

    def __init__(self, area_m2: float, flow_m3_s: float) -> None:
        self.area_m2 = area_m2
        self.flow_m3_s = flow_m3_s
        self.stored_m3 = 0.0
        self.behind_pa: float | None = None
        self.space = Space(volume_m3=DEAD_M3, air_m3=AIR_M3)

    def pressure_pa(self, reach_m: float, more_m3: float = 0.0) -> float:
        """Gauge pressure with the piston `reach_m` away from this end."""
        if self.behind_pa is not None:
            return self.behind_pa
        return self.space.pressure_pa(self.stored_m3 + more_m3, self.area_m2 * reach_m)

    def stored_at_m3(self, pressure_pa: float, reach_m: float) -> float:
        """Oil that makes a pressure."""
        return self.space.stored_m3(pressure_pa, self.area_m2 * reach_m)

    def free_m(self, more_m3: float = 0.0) -> float:
        """How far the piston may stand away before this side is without pressure."""
        return (self.stored_m3 + more_m3) / self.area_m2

    def energy_j(self, reach_m: float) -> float:
        """What its oil holds, the piston standing so far away."""
        return self.space.energy_j(self.pressure_pa(reach_m), self.area_m2 * reach_m)

    def given_j(self, from_m: float, to_m: float) -> float:
        """
        Work on the piston while it goes from one reach to another with the oil that there is: pressure along the way.

        In closed form, since air gives way within a tenth of a millimetre: what a shut side holds falls by as much.
        """
        if self.behind_pa is not None:
            return self.behind_pa * self.area_m2 * (to_m - from_m)
        return self.energy_j(from_m) - self.energy_j(to_m)

    @property
    def held_m3(self) -> float:
        """All oil that temperature acts on."""
        return self.stored_m3 + DEAD_M3
