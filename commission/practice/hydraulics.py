"""
Pump, cylinder, accumulator, ways out and tank, stepped in time.

Motion is quasi-static: the mass of the moving parts matters for milliseconds, friction and oil decide the rest. The
state is the oil stored in the cylinder. Inside the friction band the rod stands still and stored oil makes pressure;
at its edge the pressure follows the load and stored oil moves the rod. Outflow is taken at the end of each step
(implicit), so that a small stiff volume empties without ringing whatever the step.
"""

import math
from collections.abc import Callable, Mapping

import msgspec

from commission.practice.condition import Condition
from commission.practice.mechanism import PA_PER_BAR, Mechanism, NotServed
from commission.practice.oil import ATMOSPHERE_PA, Space, joined
from commission.sheet import Sheet

_CYLINDER_DEAD_M3 = 50e-6
_LINE_M3 = 20e-6
_BLEED_M2 = 3e-6
_RELIEF_M3_S_PA = 1.3e-10
_LEAK_AT_PA = 115e5
_KELVIN = 273.15


class Ways(msgspec.Struct, kw_only=True):
    """What pushes oil in, as flows, and which ways out are open; bleeds by a share, 0 shut and 1 open."""

    pump_m3_s: float = 0.0
    hand_m3_s: float = 0.0
    dump_open: bool = False
    partial_open: bool = False
    cylinder_bleed: float = 0.0
    accumulator_bleed: float = 0.0
    hand_bleed: float = 0.0


def find_root(function: Callable[[float], float], low: float, high: float, tolerance: float) -> float:
    """
    A root between two points where the function differs in sign (Illinois variant of false position).

    Args:
        function: Continuous.

        low: One end.

        high: The other end.

        tolerance: Of the function's value.
    """
    at_low, at_high = function(low), function(high)
    for _ in range(60):
        if at_low == at_high:
            return high
        middle = high - at_high * (high - low) / (at_high - at_low)
        at_middle = function(middle)
        if abs(at_middle) <= tolerance:
            return middle
        if (at_middle > 0.0) != (at_high > 0.0):
            low, at_low = high, at_high
        else:
            at_low *= 0.5
        high, at_high = middle, at_middle
    return high


class Hydraulics:
    """
    The oil of one unit.

    Args:
        sheet: What the unit is.

        condition: Its planted findings.

        mechanism: What the cylinder pushes against.

    Raises:
        NotServed: the sheet leaves out the accumulator or the orifices.
    """

    def __init__(self, sheet: Sheet, condition: Condition, mechanism: Mechanism) -> None:
        if sheet.accumulator is None or sheet.orifices.spring_stroke_mm2 is None:
            raise NotServed(f"{sheet.identity.tag}: the sheet needs accumulator and orifices.spring_stroke_mm2")
        self.mechanism = mechanism
        self.rod_m = 0.0
        self.pressure_pa = 0.0
        self.accumulator_pa = 0.0
        self.hand_pa = 0.0
        self.cylinder_m3 = 0.0
        self.accumulator_m3 = 0.0
        self.hand_m3 = 0.0
        self.tank_m3 = sheet.tank.fill_l / 1000
        self.accumulator_isolated = False
        self._relief_pa = sheet.pump.relief_bar * PA_PER_BAR
        self._back_pa = condition.return_back_pressure_bar * PA_PER_BAR
        self._leak_m3_s = condition.dump_leak_ml_h * 1e-6 / 3600
        jet = math.sqrt(2.0 / sheet.fluid.density_kg_m3)
        self._bleed = _BLEED_M2 * jet
        self._dump = sheet.orifices.spring_stroke_mm2 * 1e-6 * condition.orifice_factor * jet
        self._partial = (sheet.orifices.partial_stroke_mm2 or 0.0) * 1e-6 * condition.orifice_factor * jet
        self._cylinder = Space(volume_m3=_CYLINDER_DEAD_M3, air_m3=condition.free_air_ml * 1e-6)
        self._hand = Space(volume_m3=_LINE_M3)
        self._accumulator_gas_m3 = sheet.accumulator.volume_l / 1000
        precharge_bar = condition.precharge_bar or sheet.accumulator.precharge_bar
        precharge_pa = precharge_bar * PA_PER_BAR
        warmth = (condition.oil_c + _KELVIN) / (sheet.accumulator.precharge_at_c + _KELVIN)
        self.charge((precharge_pa + ATMOSPHERE_PA) * warmth - ATMOSPHERE_PA)

    def charge(self, precharge_pa: float) -> None:
        """Set the nitrogen precharge, at the present temperature; the accumulator must hold no oil under pressure."""
        self.precharge_pa = precharge_pa
        self._accumulator = Space(volume_m3=_LINE_M3, gas_m3=self._accumulator_gas_m3, precharge_pa=precharge_pa)
        self._both = joined(self._cylinder, self._accumulator)

    @property
    def oil_m3(self) -> float:
        """All oil, counted at atmospheric pressure: never changes but by what is drawn off or filled in."""
        return math.fsum((self.tank_m3, self.cylinder_m3, self.accumulator_m3, self.hand_m3))

    @property
    def travel_pct(self) -> float:
        """True travel of the valve."""
        return self.mechanism.travel_pct(self.rod_m)

    def set_state(self, rod_m: float, pressure_pa: float, hand_pa: float) -> None:
        """Start here: the oil this takes comes out of the tank."""
        before_m3 = self.cylinder_m3 + self.hand_m3
        self.rod_m, self.pressure_pa, self.accumulator_pa, self.hand_pa = rod_m, pressure_pa, pressure_pa, hand_pa
        self.cylinder_m3 = self._both.stored_m3(pressure_pa, self.mechanism.piston_m2 * rod_m)
        self.hand_m3 = self._hand.stored_m3(hand_pa)
        self.tank_m3 += before_m3 - self.cylinder_m3 - self.hand_m3

    def isolate_accumulator(self, isolated: bool) -> None:  # noqa: FBT001  # the position of one valve
        """Shut or open the ball valve between cylinder and accumulator."""
        if isolated == self.accumulator_isolated:
            return
        self.accumulator_isolated = isolated
        if isolated:
            self.accumulator_m3 = self._accumulator.stored_m3(self.pressure_pa)
            self.cylinder_m3 -= self.accumulator_m3
        else:
            self.cylinder_m3 += self.accumulator_m3
            self.accumulator_m3 = 0.0
            self._settle()

    def short_of_m3(self, pressure_pa: float) -> float:
        """Oil still to be pumped in until the cylinder shows a pressure, if the rod stood still."""
        wanted_m3 = self._space.stored_m3(pressure_pa, self.mechanism.piston_m2 * self.rod_m)
        return max(0.0, wanted_m3 - self.cylinder_m3)

    def step(self, seconds: float, ways: Ways) -> None:
        """Let `seconds` pass with these ways open."""
        inflow_m3_s = ways.pump_m3_s + ways.hand_m3_s
        self._step_side_lines(seconds, ways)
        jets = self._jets(ways)
        if inflow_m3_s == 0.0 and (self.pressure_pa <= 0.0 or not (jets or self._leak_m3_s or self._relieving)):
            return
        outflow_m3_s = self._outflow(seconds, inflow_m3_s, jets)
        moved_m3 = (inflow_m3_s - outflow_m3_s) * seconds
        self.cylinder_m3 += moved_m3
        self.tank_m3 -= moved_m3
        self._settle()

    @property
    def _relieving(self) -> bool:
        return self.pressure_pa > self._relief_pa

    def _jets(self, ways: Ways) -> dict[float, float]:
        """Flow a square root of pressure of the open ways out, by the pressure behind them."""
        jets: dict[float, float] = {}
        dump = self._dump * ways.dump_open + self._partial * ways.partial_open
        if dump:
            jets[self._back_pa] = dump
        bleed = self._bleed * ways.cylinder_bleed
        if not self.accumulator_isolated:
            bleed += self._bleed * ways.accumulator_bleed
        if bleed:
            jets[0.0] = jets.get(0.0, 0.0) + bleed
        return jets

    def _leaving(self, pressure_pa: float, jets: Mapping[float, float]) -> float:
        flow = math.fsum(jet * math.sqrt(max(0.0, pressure_pa - behind_pa)) for behind_pa, jet in jets.items())
        flow += self._leak_m3_s * pressure_pa / _LEAK_AT_PA
        return flow + max(0.0, pressure_pa - self._relief_pa) * _RELIEF_M3_S_PA

    def _outflow(self, seconds: float, inflow_m3_s: float, jets: Mapping[float, float]) -> float:
        """The outflow that agrees with the pressure it leaves behind at the end of the step."""

        def excess(outflow_m3_s: float) -> float:
            stored_m3 = self.cylinder_m3 + (inflow_m3_s - outflow_m3_s) * seconds
            return outflow_m3_s - self._leaving(self._balance(stored_m3)[1], jets)

        at_none = -excess(0.0)
        if at_none <= 0.0:
            return 0.0
        most = min(at_none, inflow_m3_s + self.cylinder_m3 / seconds)
        if excess(most) <= 0.0:
            return most
        return find_root(excess, 0.0, most, 1e-6 * at_none)

    @property
    def _space(self) -> Space:
        return self._cylinder if self.accumulator_isolated else self._both

    def _settle(self) -> None:
        if self.mechanism.stuck:
            stored_m3, swept_m3 = self.cylinder_m3, self.mechanism.piston_m2 * self.rod_m
            self.mechanism.feel(self.rod_m, self._space.pressure_pa(stored_m3, swept_m3))
        self.rod_m, self.pressure_pa = self._balance(self.cylinder_m3)
        if not self.accumulator_isolated:
            self.accumulator_pa = self.pressure_pa

    def _balance(self, stored_m3: float) -> tuple[float, float]:
        """Rod position and pressure with this much oil stored, from the present position."""
        space, area, rod_m, stroke_m = self._space, self.mechanism.piston_m2, self.rod_m, self.mechanism.stroke_m
        pressure_pa = space.pressure_pa(stored_m3, area * rod_m)
        if rod_m < stroke_m and pressure_pa > self.mechanism.opening_pa(rod_m):
            return self._moved(stored_m3, stroke_m, self.mechanism.opening_pa)
        if rod_m > 0.0 and pressure_pa < self.mechanism.closing_pa(rod_m):
            return self._moved(stored_m3, 0.0, self.mechanism.closing_pa)
        return rod_m, pressure_pa

    def _moved(self, stored_m3: float, end_m: float, edge_pa: Callable[[float], float]) -> tuple[float, float]:
        """Rod position and pressure after moving towards one end along the edge of the friction band."""
        space, area = self._space, self.mechanism.piston_m2

        def missing(rod_m: float) -> float:
            return space.stored_m3(max(0.0, edge_pa(rod_m)), area * rod_m) - stored_m3

        here = missing(self.rod_m)
        if here == 0.0:
            return self.rod_m, max(0.0, edge_pa(self.rod_m))
        near_m = self.rod_m - 1.2 * here / area
        near_m = min(max(near_m, 0.0), self.mechanism.stroke_m)
        if (missing(near_m) > 0.0) == (here > 0.0):
            near_m = end_m
            if (missing(end_m) > 0.0) == (here > 0.0):
                return end_m, space.pressure_pa(stored_m3, area * end_m)
        rod_m = find_root(missing, self.rod_m, near_m, 1e-12)
        return rod_m, space.pressure_pa(stored_m3, area * rod_m)

    def _step_side_lines(self, seconds: float, ways: Ways) -> None:
        if ways.hand_m3_s > 0.0 and self.pressure_pa > self.hand_pa:
            filled_m3 = self._hand.stored_m3(self.pressure_pa)
            self.tank_m3 -= filled_m3 - self.hand_m3
            self.hand_m3, self.hand_pa = filled_m3, self.pressure_pa
        if ways.hand_bleed and self.hand_pa > 0.0:
            left_m3 = self._drained(self._hand, self.hand_m3, seconds * ways.hand_bleed)
            self.tank_m3 += self.hand_m3 - left_m3
            self.hand_m3, self.hand_pa = left_m3, self._hand.pressure_pa(left_m3)
        if ways.accumulator_bleed and self.accumulator_isolated and self.accumulator_pa > 0.0:
            left_m3 = self._drained(self._accumulator, self.accumulator_m3, seconds * ways.accumulator_bleed)
            self.tank_m3 += self.accumulator_m3 - left_m3
            self.accumulator_m3, self.accumulator_pa = left_m3, self._accumulator.pressure_pa(left_m3)

    def _drained(self, space: Space, stored_m3: float, seconds: float) -> float:
        """Oil left in a line after its bleed stood open for `seconds`."""

        def excess(left_m3: float) -> float:
            return stored_m3 - left_m3 - seconds * self._bleed * math.sqrt(space.pressure_pa(left_m3))

        return max(0.0, find_root(excess, 0.0, stored_m3, 1e-15))
