"""
How oil comes in and leaves: which ways stand open, needles, bleeds, relief valve and leaks, and how thick the oil is.

`hydraulics` balances what leaves here against what is stored; `double_acting` has the same ways and leaks.
"""

import math
from collections.abc import Mapping

import msgspec

from commission.practice.condition import Condition
from commission.practice.fluid import REFERENCE_C, Oil
from commission.practice.mechanism import PA_PER_BAR
from commission.practice.oil import Space
from commission.practice.root import find_root
from commission.sheet import Sheet

_BLEED_M2 = 3e-6
_RELIEF_M3_S_PA = 1.3e-10
_LEAK_AT_PA = 115e5


class Ways(msgspec.Struct, kw_only=True):
    """
    What pushes oil in, as flows, and which ways out are open; bleeds by a share, 0 shut and 1 open.

    `pumping` says whether the motor turns, so that no oil runs back through the pump. `spool` leads the supply of a
    double-acting unit to the full bore (1), to the rod side (-1) or nowhere (0).
    """

    pump_m3_s: float = 0.0
    pumping: bool = False
    spool: float = 0.0
    hand_m3_s: float = 0.0
    dump_open: bool = False
    partial_open: bool = False
    cylinder_bleed: float = 0.0
    cylinder_b_bleed: float = 0.0
    accumulator_bleed: float = 0.0
    hand_bleed: float = 0.0


class Leaks(msgspec.Struct, frozen=True, kw_only=True):
    """Leaks in m³/s a Pa: past the dump and out of the unit always, back through the pump only while it stands."""

    dump: float
    outside: float
    check: float

    @classmethod
    def of(cls, condition: Condition) -> "Leaks":
        """The leaks of a condition, which quotes them in mL/h."""
        ml_h = 1e-6 / 3600 / _LEAK_AT_PA
        return cls(
            dump=condition.dump_leak_ml_h * ml_h,
            outside=condition.external_leak_ml_h * ml_h,
            check=condition.check_leak_ml_h * ml_h,
        )

    def per_pa(self, *, pumping: bool) -> float:
        """All of them together."""
        return self.dump + self.outside + (0.0 if pumping else self.check)


class Outlets:
    """
    The ways out of one spring-return unit.

    Args:
        sheet: Its needles and relief valve.

        condition: Its planted findings.
    """

    def __init__(self, sheet: Sheet, condition: Condition) -> None:
        self._oil = Oil(sheet.fluid, condition.viscosity_factor)
        self._orifices = sheet.orifices
        self._relief_pa = (condition.relief_bar or sheet.pump.relief_bar) * PA_PER_BAR
        self._relief_leak = condition.relief_leak_ml_min * 1e-6 / 60 / _LEAK_AT_PA
        self._back_pa = condition.return_back_pressure_bar * PA_PER_BAR
        self._leaks = Leaks.of(condition)
        self.thicken(condition.oil_c)
        self._jet = math.sqrt(2.0 / sheet.fluid.density_kg_m3)
        self._bleed = _BLEED_M2 * self._jet
        self._bypass = condition.bypass_mm2 * 1e-6 * self._jet
        self.set_needles(condition.orifice_factor)

    def set_needles(self, factor: float) -> None:
        """Set the needles of the spring stroke and the partial stroke to so much of the sheet's area."""
        self._dump = (self._orifices.spring_stroke_mm2 or 0.0) * 1e-6 * factor * self._jet
        self._partial = (self._orifices.partial_stroke_mm2 or 0.0) * 1e-6 * factor * self._jet

    def thicken(self, celsius: float) -> None:
        """The oil in tank and lines has this temperature."""
        self._line = self._oil.line_pa_s_m3(celsius)
        self._thinness = self._oil.thinness(celsius) if abs(celsius - REFERENCE_C) > 1.0 else 1.0

    def leak(self, *, pumping: bool) -> float:
        """All leaks together, m³/s a Pa."""
        return self._leaks.per_pa(pumping=pumping) * self._thinness + self._relief_leak

    def spilled_m3(self, pressure_pa: float, seconds: float) -> float:
        """What leaks out of the unit, and so never comes back to the tank."""
        return self._leaks.outside * self._thinness * pressure_pa * seconds

    def relieving(self, pressure_pa: float) -> bool:
        """Whether the relief valve lets go."""
        return pressure_pa > self._relief_pa

    def jets(self, ways: Ways, *, accumulator_isolated: bool) -> dict[float, float]:
        """Flow a square root of pressure of the open ways out, by the pressure behind them."""
        jets: dict[float, float] = {}
        dump = self._dump * ways.dump_open + self._partial * ways.partial_open
        if dump:
            jets[self._back_pa] = dump
        bleed = self._bleed * ways.cylinder_bleed + self._bypass
        if not accumulator_isolated:
            bleed += self._bleed * ways.accumulator_bleed
        if bleed:
            jets[0.0] = jets.get(0.0, 0.0) + bleed
        return jets

    def leaving_m3_s(self, pressure_pa: float, jets: Mapping[float, float], leak: float) -> float:
        """All that leaves at a pressure, by these jets, this leak and the relief valve."""
        flow = math.fsum(self._through(jet, pressure_pa - behind_pa) for behind_pa, jet in jets.items())
        return flow + leak * pressure_pa + max(0.0, pressure_pa - self._relief_pa) * _RELIEF_M3_S_PA

    def drained_m3(self, space: Space, stored_m3: float, seconds: float) -> float:
        """Oil left in a line after its bleed stood open for `seconds`."""

        def excess(left_m3: float) -> float:
            return stored_m3 - left_m3 - seconds * self._bleed * math.sqrt(space.pressure_pa(left_m3))

        return max(0.0, find_root(excess, 0.0, stored_m3, 1e-15))

    def _through(self, jet: float, pressure_pa: float) -> float:
        """Flow through an orifice and a line in series: p = (Q/jet)² + line·Q."""
        if pressure_pa <= 0.0:
            return 0.0
        if not self._line:
            return jet * math.sqrt(pressure_pa)
        half = jet * jet * self._line / 2
        return jet * jet * pressure_pa / (half + math.sqrt(half * half + jet * jet * pressure_pa))
