"""
Pump, cylinder, accumulator and tank, stepped in time; how oil leaves is `outlets`'.

Motion is quasi-static: the mass of the moving parts matters for milliseconds, friction and oil decide the rest. The
state is the oil stored in the cylinder. Inside the friction band the rod stands still and stored oil makes pressure;
at its edge the pressure follows the load and stored oil moves the rod. Outflow is taken at the end of each step
(implicit), so that a small stiff volume empties without ringing whatever the step.
"""

import math
from collections.abc import Callable, Mapping

from commission.practice.condition import Condition
from commission.practice.ledger import Ledger
from commission.practice.mechanism import PA_PER_BAR, Friction, Mechanism, NotServed
from commission.practice.oil import ATMOSPHERE_PA, EXPANSION_K, GAS_GONE_PA, Space, joined, work_pa
from commission.practice.outlets import Outlets, Ways
from commission.practice.root import find_root
from commission.practice.slide import flow_work_j, integral
from commission.sheet import End, Sheet

_CYLINDER_DEAD_M3 = 50e-6
_LINE_M3 = 20e-6
_RESIDUAL_PA = 18e5
_KELVIN = 273.15
_SLIPS_M_S = 0.006
"""Slower than this, a valve that sticks comes to rest again (a stick-slip motion is a slow one)."""

_SAME_PA = 1e-6
_DROP_OF_ROUNDING_M3 = 1e-18
_WARMED_C = 0.002
"""Change of temperature that is worth a new balance."""


class Hydraulics:
    """
    The oil of one spring-return unit.

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
        self.tank_m3 = (sheet.tank.fill_l - condition.oil_missing_l) / 1000
        self.spilled_m3 = self.expanded_m3 = 0.0
        self.accumulator_isolated = False
        self.ledger = Ledger()
        self.celsius = condition.oil_c
        self.outlets = Outlets(sheet, condition)
        self._moving = 0
        self._cylinder = Space(volume_m3=_CYLINDER_DEAD_M3, air_m3=condition.free_air_ml * 1e-6)
        self._hand = Space(volume_m3=_LINE_M3)
        self._accumulator_gas_m3 = sheet.accumulator.volume_l / 1000
        found_bar = condition.precharge_bar
        precharge_bar = sheet.accumulator.precharge_bar if found_bar is None else found_bar
        precharge_pa = precharge_bar * PA_PER_BAR
        warmth = (condition.oil_c + _KELVIN) / (sheet.accumulator.precharge_at_c + _KELVIN)
        self.charge((precharge_pa + ATMOSPHERE_PA) * warmth - ATMOSPHERE_PA)

    def charge(self, precharge_pa: float) -> None:
        """Set the nitrogen precharge, at the present temperature; the accumulator must hold no oil under pressure."""
        self.precharge_pa = precharge_pa
        if precharge_pa < GAS_GONE_PA:  # oil stands where the nitrogen was
            self._accumulator = Space(volume_m3=_LINE_M3 + self._accumulator_gas_m3)
        else:
            self._accumulator = Space(volume_m3=_LINE_M3, gas_m3=self._accumulator_gas_m3, precharge_pa=precharge_pa)
        self._both = joined(self._cylinder, self._accumulator)

    @property
    def oil_m3(self) -> float:
        """
        All oil, counted at atmospheric pressure and at the temperature of the start, spilled oil too: never changes but
        by what is drawn off or filled in.
        """
        held = (self.tank_m3, self.cylinder_m3, self.accumulator_m3, self.hand_m3)
        return math.fsum((*held, self.spilled_m3, -self.expanded_m3))

    @property
    def energy_j(self) -> float:
        """What spring and pressed oil and gas hold now: the state that the ledger's work goes into."""
        swept_m3 = self.mechanism.piston_m2 * self.rod_m
        held_j = self.mechanism.spring_j(self.rod_m) + self._space.energy_j(self.pressure_pa, swept_m3)
        held_j += self._hand.energy_j(self.hand_pa)
        return held_j + (self._accumulator.energy_j(self.accumulator_pa) if self.accumulator_isolated else 0.0)

    @property
    def travel_pct(self) -> float:
        """True travel of the valve."""
        return self.mechanism.travel_pct(self.rod_m)

    @property
    def opens(self) -> bool:
        """Whether oil opens the valve."""
        return self.mechanism.opens

    @property
    def friction(self) -> Friction:
        """What the valve holds against the rod."""
        return self.mechanism.friction

    @property
    def pump_pa(self) -> float:
        """What the pump works against."""
        return self.pressure_pa

    @property
    def pressure_b_pa(self) -> float:
        """There is a spring and no oil on the other side."""
        return 0.0

    def start(self, end: End, cut_out_pa: float) -> None:
        """Stand where the oil holds it, at cut-out pressure, or where the spring holds it, with a little left."""
        if (end is End.OPEN) is self.opens:
            self.set_state(self.mechanism.stroke_m, cut_out_pa, 0.0)
        else:
            self.set_state(0.0, _RESIDUAL_PA, _RESIDUAL_PA)

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
        if isolated:
            self.accumulator_isolated = True
            self.accumulator_m3 = self._accumulator.stored_m3(self.pressure_pa)
            self.cylinder_m3 -= self.accumulator_m3
        else:
            before_j = self.energy_j
            self.cylinder_m3 += self.accumulator_m3
            self.accumulator_m3 = 0.0
            self.accumulator_isolated = False
            self.ledger.throttled_j += before_j - self._joined_j()
            self._relax()

    def short_of_m3(self, pressure_pa: float) -> float:
        """Oil still to be pumped in until the cylinder shows a pressure, if the rod stood still."""
        wanted_m3 = self._space.stored_m3(pressure_pa, self.mechanism.piston_m2 * self.rod_m)
        return max(0.0, wanted_m3 - self.cylinder_m3)

    def thicken(self, celsius: float) -> None:
        """The oil in tank and lines has this temperature."""
        self.outlets.thicken(celsius)

    def warm(self, celsius: float) -> None:
        """Bring the trapped oil and the nitrogen to a temperature: oil expands, gas pushes."""
        if abs(celsius - self.celsius) < _WARMED_C:
            return
        grown = (celsius - self.celsius) * EXPANSION_K
        warmth = (celsius + _KELVIN) / (self.celsius + _KELVIN)
        self.celsius = celsius
        before_j = self.energy_j
        more_m3 = grown * (self._space.volume_m3 + self.cylinder_m3)
        self.cylinder_m3 += more_m3
        if self.precharge_pa >= GAS_GONE_PA:
            self.charge((self.precharge_pa + ATMOSPHERE_PA) * warmth - ATMOSPHERE_PA)
        if self.cylinder_m3 < 0.0:  # the tank makes up what an empty cylinder would lack
            self.tank_m3 += self.cylinder_m3
            self.cylinder_m3 = 0.0
        self.expanded_m3 += more_m3
        self.ledger.warmed_j += self._joined_j() - before_j
        self._relax()

    def step(self, seconds: float, ways: Ways) -> None:
        """Let `seconds` pass with these ways open."""
        inflow_m3_s = (ways.pump_m3_s if self.tank_m3 > 0.0 else 0.0) + ways.hand_m3_s
        self._step_side_lines(seconds, ways)
        jets = self.outlets.jets(ways, accumulator_isolated=self.accumulator_isolated)
        leak = self.outlets.leak(pumping=ways.pumping)
        relieving = self.outlets.relieving(self.pressure_pa)
        if inflow_m3_s == 0.0 and (self.pressure_pa <= 0.0 or not (jets or leak or relieving)):
            self._moving = 0
            return
        outflow_m3_s = self._outflow(seconds, inflow_m3_s, jets, leak)
        self._spill(seconds)
        self._move(seconds, inflow_m3_s, outflow_m3_s)

    def _move(self, seconds: float, inflow_m3_s: float, outflow_m3_s: float) -> None:
        moved_m3 = (inflow_m3_s - outflow_m3_s) * seconds
        before_m, before_pa = self.rod_m, self.pressure_pa
        edges_pa = self._leaving_pa()
        self.cylinder_m3 += moved_m3
        self.tank_m3 -= moved_m3
        self._settle()
        gone_m = self.rod_m - before_m
        self._moving = 0 if abs(gone_m) < _SLIPS_M_S * seconds else int(math.copysign(1, gone_m))
        worked_j = self._worked_j(before_m, before_pa, edges_pa[gone_m > 0.0])
        mean_pa = worked_j / moved_m3 if moved_m3 else work_pa(before_pa)
        if gone_m == 0.0:  # as much leaves as comes in: what is left over to divide by may be rounding
            lowest_pa, highest_pa = sorted((work_pa(before_pa), work_pa(self.pressure_pa)))
            mean_pa = min(highest_pa, max(lowest_pa, mean_pa))
        self.ledger.pumped_j += mean_pa * inflow_m3_s * seconds
        self.ledger.throttled_j += mean_pa * outflow_m3_s * seconds

    def _leaving_pa(self) -> tuple[float, float]:
        """Pressures at which the rod leaves its place: to the spring's side, to the oil's."""
        mechanism, rod_m = self.mechanism, self.rod_m
        yields_pa = mechanism.yielding_pa(rod_m, moving=self._moving < 0)
        return yields_pa, mechanism.pressing_pa(rod_m, moving=self._moving > 0)

    def _worked_j(self, before_m: float, before_pa: float, leaves_pa: float) -> float:
        """
        Work of the oil that came in and went out in a step, and what of it the rod rubbed away.

        First the rod stands until the pressure is at the edge of what holds it; then, where it stuck, it leaps as
        far as that oil takes it; then it slides, the pressure following the load; last, at an end of travel, it stands
        again.
        """
        area, space, after_m = self.mechanism.piston_m2, self._space, self.rod_m
        if after_m == before_m:
            swept_m3 = area * before_m
            return space.energy_j(self.pressure_pa, swept_m3) - space.energy_j(before_pa, swept_m3)
        edge_pa = self.mechanism.pressing_pa if after_m > before_m else self.mechanism.yielding_pa
        slides_m, begins_pa = before_m, max(0.0, edge_pa(before_m))
        stood_j = -space.energy_j(before_pa, area * before_m)
        if abs(leaves_pa - edge_pa(before_m)) > _SAME_PA:
            left_m3 = space.stored_m3(max(0.0, leaves_pa), area * before_m)
            slides_m = self._leapt_to(left_m3, before_m, after_m, edge_pa)
            stood_j += space.energy_j(max(0.0, leaves_pa), area * before_m)
            self._leap(left_m3, before_m, slides_m)
            begins_pa = space.pressure_pa(left_m3, area * slides_m)
            stood_j -= space.energy_j(begins_pa, area * slides_m)
        ends_pa = max(0.0, edge_pa(after_m)) if slides_m != after_m else begins_pa
        begun_j, ended_j = space.energy_j(begins_pa, area * slides_m), space.energy_j(ends_pa, area * after_m)
        slid_j = flow_work_j(
            lambda rod_m: max(0.0, edge_pa(rod_m)),
            lambda pressure_pa, rod_m: space.stored_m3(pressure_pa, area * rod_m),
            slides_m,
            after_m,
            self._kinks(slides_m, after_m, edge_pa),
        )
        self._rub(slides_m, after_m)
        return stood_j + begun_j + slid_j + space.energy_j(self.pressure_pa, area * after_m) - ended_j

    def _kinks(self, from_m: float, to_m: float, pressure_pa: Callable[[float], float]) -> tuple[float, ...]:
        """Places where the load has a kink, and where the nitrogen begins or ends to give."""
        kinks_m, begins_pa = self.mechanism.kinks_m, self._space.precharge_pa
        if not self._space.gas_m3 or (pressure_pa(from_m) > begins_pa) == (pressure_pa(to_m) > begins_pa):
            return kinks_m
        return (*kinks_m, find_root(lambda rod_m: pressure_pa(rod_m) - begins_pa, from_m, to_m, _SAME_PA))

    def _rub(self, from_m: float, to_m: float) -> None:
        pressing = to_m > from_m
        rubbed_j = integral(
            lambda rod_m: self.mechanism.friction_n(rod_m, pressing=pressing), from_m, to_m, self.mechanism.kinks_m
        )
        self.ledger.rubbed_j += abs(rubbed_j)

    def _leapt_to(self, stored_m3: float, from_m: float, to_m: float, edge_pa: Callable[[float], float]) -> float:
        """Where a rod that let go is held again, with the oil that there was."""
        area, space = self.mechanism.piston_m2, self._space

        def missing(rod_m: float) -> float:
            return space.stored_m3(max(0.0, edge_pa(rod_m)), area * rod_m) - stored_m3

        if (missing(from_m) > 0.0) == (missing(to_m) > 0.0):
            return to_m
        return find_root(missing, from_m, to_m, _DROP_OF_ROUNDING_M3)

    def _leap(self, stored_m3: float, from_m: float, to_m: float) -> None:
        """At once, with the oil that there is: what spring and friction do not take is caught."""
        area, space, mechanism = self.mechanism.piston_m2, self._space, self.mechanism
        pressing = to_m > from_m

        def over_n(rod_m: float) -> float:
            sign = 1.0 if pressing else -1.0
            pushed_n = space.pressure_pa(stored_m3, area * rod_m) * area - mechanism.spring_n(rod_m)
            return pushed_n - sign * mechanism.friction_n(rod_m, pressing=pressing)

        kinks_m = self._kinks(from_m, to_m, lambda rod_m: space.pressure_pa(stored_m3, area * rod_m))
        self.ledger.stopped_j += integral(over_n, from_m, to_m, kinks_m)
        self._rub(from_m, to_m)

    def _relax(self) -> None:
        """Come to rest with the oil that is there, after something else than a flow has changed its pressure."""
        before_m = self.rod_m
        self._settle()
        if self.rod_m != before_m:
            self._leap(self.cylinder_m3, before_m, self.rod_m)

    def _joined_j(self) -> float:
        """Energy with the oil as it is now, before the rod has moved."""
        swept_m3 = self.mechanism.piston_m2 * self.rod_m
        self.pressure_pa = self._space.pressure_pa(self.cylinder_m3, swept_m3)
        if not self.accumulator_isolated:
            self.accumulator_pa = self.pressure_pa
        return self.energy_j

    def _spill(self, seconds: float) -> None:
        """What has leaked out of the unit is not in the tank."""
        out_m3 = self.outlets.spilled_m3(self.pressure_pa, seconds)
        self.spilled_m3 += out_m3
        self.tank_m3 -= out_m3

    def _outflow(self, seconds: float, inflow_m3_s: float, jets: Mapping[float, float], leak: float) -> float:
        """The outflow that agrees with the pressure it leaves behind at the end of the step."""

        def excess(outflow_m3_s: float) -> float:
            stored_m3 = self.cylinder_m3 + (inflow_m3_s - outflow_m3_s) * seconds
            return outflow_m3_s - self.outlets.leaving_m3_s(self._balance(stored_m3)[1], jets, leak)

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
        if rod_m < stroke_m and pressure_pa > self.mechanism.pressing_pa(rod_m, moving=self._moving > 0):
            return self._moved(stored_m3, stroke_m, self.mechanism.pressing_pa)
        if rod_m > 0.0 and pressure_pa < self.mechanism.yielding_pa(rod_m, moving=self._moving < 0):
            return self._moved(stored_m3, 0.0, self.mechanism.yielding_pa)
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
        rod_m = find_root(missing, self.rod_m, near_m, _DROP_OF_ROUNDING_M3)
        return rod_m, space.pressure_pa(stored_m3, area * rod_m)

    def _step_side_lines(self, seconds: float, ways: Ways) -> None:
        if ways.hand_m3_s > 0.0 and self.pressure_pa > self.hand_pa:
            filled_m3 = self._hand.stored_m3(self.pressure_pa)
            self.tank_m3 -= filled_m3 - self.hand_m3
            self.ledger.pumped_j += self._hand.energy_j(self.pressure_pa) - self._hand.energy_j(self.hand_pa)
            self.hand_m3, self.hand_pa = filled_m3, self.pressure_pa
        if ways.hand_bleed and self.hand_pa > 0.0:
            left_m3 = self.outlets.drained_m3(self._hand, self.hand_m3, seconds * ways.hand_bleed)
            self.tank_m3 += self.hand_m3 - left_m3
            before_j, left_pa = self._hand.energy_j(self.hand_pa), self._hand.pressure_pa(left_m3)
            self.ledger.throttled_j += before_j - self._hand.energy_j(left_pa)
            self.hand_m3, self.hand_pa = left_m3, left_pa
        if ways.accumulator_bleed and self.accumulator_isolated and self.accumulator_pa > 0.0:
            left_m3 = self.outlets.drained_m3(self._accumulator, self.accumulator_m3, seconds * ways.accumulator_bleed)
            self.tank_m3 += self.accumulator_m3 - left_m3
            before_j, left_pa = self._accumulator.energy_j(self.accumulator_pa), self._accumulator.pressure_pa(left_m3)
            self.ledger.throttled_j += before_j - self._accumulator.energy_j(left_pa)
            self.accumulator_m3, self.accumulator_pa = left_m3, left_pa
