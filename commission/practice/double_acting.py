"""
A double-acting cylinder fed from an accumulator through a proportional valve and flow controls, stepped in time.

The state is the oil stored on either side of the piston and in the accumulator. A side that is led to the tank stands
at its line's pressure, a side that is fed takes what its flow control lets through while the supply stands above it, a
side that is shut keeps its oil. Inside the friction band the rod stands still; at its edge it moves until the two
pressures balance it.
"""

import math

from commission.practice.bladder import Bladder
from commission.practice.condition import Condition
from commission.practice.fluid import REFERENCE_C, Oil
from commission.practice.ledger import Ledger
from commission.practice.mechanism import PA_PER_BAR, Friction, Geometry, NotServed
from commission.practice.oil import ATMOSPHERE_PA, EXPANSION_K, GAS_GONE_PA, Space, work_pa
from commission.practice.outlets import Leaks, Ways
from commission.practice.rod import Rod
from commission.practice.root import find_root
from commission.practice.side import AIR_M3, Side
from commission.sheet import End, Sheet

_LINE_M3 = 60e-6
_HAND_M3 = 20e-6
_BLEED_M2 = 3e-6
_VALVE_M2 = 12e-6
"""Effective area of the proportional valve, fully open: what its flow control can at most let through."""

_RELIEF_M3_S_PA = 1.3e-10
_LEAK_AT_PA = 115e5
_WARMED_C = 0.002
_KELVIN = 273.15
_SLIPS_M_S = 0.002


class DoubleActing:
    """
    The oil of one double-acting unit.

    Args:
        sheet: What the unit is.

        condition: Its planted findings.

    Raises:
        NotServed: the sheet leaves out the accumulator, a flow control or the load table.
    """

    def __init__(self, sheet: Sheet, condition: Condition) -> None:
        orifices, actuator = sheet.orifices, sheet.actuator
        if sheet.accumulator is None or not orifices.opening_flow_l_min or not orifices.closing_flow_l_min:
            raise NotServed(f"{sheet.identity.tag}: the sheet needs accumulator and both flow controls")
        self.opens = actuator.pressure_opens
        self.geometry = Geometry(sheet, opens=self.opens)
        self.friction = Friction(sheet, condition)
        self._efficiency = actuator.efficiency
        self.stroke_m = self.geometry.stroke_m
        opening_m3_s = orifices.opening_flow_l_min / 60_000 * condition.opening_flow_factor
        closing_m3_s = orifices.closing_flow_l_min / 60_000 * condition.closing_flow_factor
        full_m3_s, rod_m3_s = (opening_m3_s, closing_m3_s) if self.opens else (closing_m3_s, opening_m3_s)
        full_m2 = math.pi / 4 * (actuator.bore_mm / 1000) ** 2
        self.full = Side(full_m2, full_m3_s)
        self.ring = Side(full_m2 - math.pi / 4 * (actuator.rod_mm / 1000) ** 2, rod_m3_s)
        self.rod_m = 0.0
        self.hand_m3 = 0.0
        self.tank_m3 = (sheet.tank.fill_l - condition.oil_missing_l) / 1000
        self.spilled_m3 = self.expanded_m3 = 0.0
        self.celsius = condition.oil_c
        self.ledger = Ledger()
        self.accumulator_isolated = False
        self._line = Space(volume_m3=_LINE_M3, air_m3=AIR_M3)
        self.line_m3 = 0.0
        self._hand = Space(volume_m3=_HAND_M3)
        self._relief_pa = (condition.relief_bar or sheet.pump.relief_bar) * PA_PER_BAR
        self._relief_leak = condition.relief_leak_ml_min * 1e-6 / 60 / _LEAK_AT_PA
        self._back_pa = condition.return_back_pressure_bar * PA_PER_BAR
        self._seal = condition.seal_leak_ml_h * 1e-6 / 3600 / _LEAK_AT_PA
        self._leaks = Leaks.of(condition)
        self._jet = math.sqrt(2.0 / sheet.fluid.density_kg_m3)
        self._bypass_m2 = condition.bypass_mm2 * 1e-6
        self._oil = Oil(sheet.fluid, condition.viscosity_factor)
        self._moving = 0
        self._speed_m_s = 0.0
        self.thicken(condition.oil_c)
        found_bar = condition.precharge_bar
        bar = sheet.accumulator.precharge_bar if found_bar is None else found_bar
        warmth = (condition.oil_c + _KELVIN) / (sheet.accumulator.precharge_at_c + _KELVIN)
        precharge_pa = (bar * PA_PER_BAR + ATMOSPHERE_PA) * warmth - ATMOSPHERE_PA
        self.bladder = Bladder(sheet.accumulator.volume_l / 1000, precharge_pa, condition.oil_c)
        places = (self.geometry.rod_m(pct) for pct in self.friction.kinks_pct if 0.0 < pct < 100.0)
        self._rod = Rod(self.full, self.ring, self.stroke_m, self._friction_n, tuple(sorted(places)), self.ledger)
        self._heat_j = 0.0

    @property
    def precharge_pa(self) -> float:
        """Nitrogen pressure by the charging kit, oil side at zero."""
        return self.bladder.precharge_pa

    def charge(self, precharge_pa: float) -> None:
        """Set the nitrogen precharge at the present temperature; the accumulator must hold no oil under pressure."""
        self.bladder.charge(precharge_pa if precharge_pa >= GAS_GONE_PA else 0.0)

    @property
    def pressure_pa(self) -> float:
        """On the full bore, side A."""
        return self.full.pressure_pa(self.rod_m)

    @property
    def pressure_b_pa(self) -> float:
        """On the rod side, side B."""
        return self.ring.pressure_pa(self.stroke_m - self.rod_m)

    @property
    def system_pa(self) -> float:
        """In the pump line."""
        return self._line.pressure_pa(self.line_m3) if self.accumulator_isolated else self.bladder.pressure_pa

    @property
    def pump_pa(self) -> float:
        """What the pump works against."""
        return self.system_pa

    @property
    def accumulator_pa(self) -> float:
        """On the accumulator's oil side."""
        return self.bladder.pressure_pa

    @property
    def hand_pa(self) -> float:
        """In the hand pump's line."""
        return self._hand.pressure_pa(self.hand_m3)

    @property
    def oil_m3(self) -> float:
        """All oil at atmospheric pressure and the start's temperature: only drawing off and filling in change it."""
        held = (self.tank_m3, self.full.stored_m3, self.ring.stored_m3, self.bladder.stored_m3)
        return math.fsum((*held, self.line_m3, self.hand_m3, self.spilled_m3, -self.expanded_m3))

    @property
    def energy_j(self) -> float:
        """What pressed oil and gas hold now: the state that the ledger's work goes into."""
        line_j = self._line.energy_j(self.system_pa) if self.accumulator_isolated else 0.0
        return math.fsum((self._sides_j(), self.bladder.energy_j, line_j, self._hand.energy_j(self.hand_pa)))

    def _sides_j(self) -> float:
        return self.full.energy_j(self.rod_m) + self.ring.energy_j(self.stroke_m - self.rod_m)

    @property
    def travel_pct(self) -> float:
        """True travel of the actuator."""
        return self.geometry.travel_pct(self.rod_m)

    def start(self, end: End, cut_out_pa: float) -> None:
        """Stand at an end of travel, both sides without pressure, the accumulator charged to cut-out."""
        self.rod_m = self.geometry.rod_m(100.0 if end is End.OPEN else 0.0)
        self.full.stored_m3 = self.full.stored_at_m3(0.0, self.rod_m)
        self.ring.stored_m3 = self.ring.stored_at_m3(0.0, self.stroke_m - self.rod_m)
        self.tank_m3 -= self.bladder.take(self.bladder.stored_at_m3(cut_out_pa))
        self._heat_j = self.bladder.heat_j

    def isolate_accumulator(self, isolated: bool) -> None:  # noqa: FBT001  # the position of one valve
        """Shut or open the ball valve between pump line and accumulator."""
        if isolated == self.accumulator_isolated:
            return
        before_j = self.energy_j
        if isolated:
            self.line_m3 = -self.bladder.take(-self._line.stored_m3(self.system_pa))
        else:
            self.bladder.take(self.line_m3)
            self.line_m3 = 0.0
        self.accumulator_isolated = isolated
        self._take_heat()
        self.ledger.throttled_j += before_j - self.energy_j

    def short_of_m3(self, pressure_pa: float) -> float:
        """Oil still to be pumped in until the pump line shows a pressure."""
        if self.accumulator_isolated:
            return max(0.0, self._line.stored_m3(pressure_pa) - self.line_m3)
        return max(0.0, self.bladder.stored_at_m3(pressure_pa) - self.bladder.stored_m3)

    def thicken(self, celsius: float) -> None:
        """The oil in tank and lines has this temperature."""
        self._loss = self._oil.line_pa_s_m3(celsius)
        self._thinness = self._oil.thinness(celsius) if abs(celsius - REFERENCE_C) > 1.0 else 1.0

    def warm(self, celsius: float) -> None:
        """Bring trapped oil and nitrogen to a temperature."""
        if abs(celsius - self.celsius) < _WARMED_C:
            return
        grown = (celsius - self.celsius) * EXPANSION_K
        self.celsius = celsius
        before_j = self._sides_j() + self.bladder.energy_j
        for side in (self.full, self.ring):
            more_m3 = grown * side.held_m3
            side.stored_m3 += more_m3
            self.expanded_m3 += more_m3
        self.bladder.warm(celsius)
        self.ledger.warmed_j += self._sides_j() + self.bladder.energy_j - before_j
        before_m, self.rod_m = self.rod_m, self._balance()
        self._rod.leap(before_m, self.rod_m)

    def step(self, seconds: float, ways: Ways) -> None:
        """Let `seconds` pass with these ways open."""
        self._fill(seconds, ways)
        self._bleed(seconds, ways)
        before_m, spool = self.rod_m, ways.spool
        fed, drained = (self.full, self.ring) if spool > 0 else (self.ring, self.full)
        if spool:
            self._open_to_tank(drained)
        self._leak_past_the_seal(seconds)
        more_m3, given_j = self._feed(fed, min(abs(spool), 1.0), seconds) if spool else (0.0, 0.0)
        self.rod_m = self._balance()
        if spool:
            self.ledger.throttled_j += given_j - self._rod.worked_j(fed, more_m3, before_m, self.rod_m, self._moving)
            self._lead_to_tank(drained, before_m)
        else:
            self._rod.leap(before_m, self.rod_m)
        gone_m = self.rod_m - before_m
        self._speed_m_s = abs(gone_m) / seconds
        self._moving = 0 if self._speed_m_s < _SLIPS_M_S else int(math.copysign(1, gone_m))
        if not self.accumulator_isolated:
            self.bladder.rest(seconds)
        self._take_heat()

    def _take_heat(self) -> None:
        """Enter what gas and steel have given each other."""
        self.ledger.warmed_j += self.bladder.heat_j - self._heat_j
        self._heat_j = self.bladder.heat_j

    def _supply(self, more_m3: float) -> tuple[float, float]:
        """Oil into the pump line, or out of it (less than 0), and the work that this took."""
        if self.accumulator_isolated:
            more_m3 = max(more_m3, -self.line_m3)
            before_j = self._line.energy_j(self.system_pa)
            self.line_m3 += more_m3
            return more_m3, self._line.energy_j(self.system_pa) - before_j
        before_j = self.bladder.work_j
        return self.bladder.take(more_m3), self.bladder.work_j - before_j

    def _lose(self, out_m3: float) -> None:
        """Oil out of the pump line, back to the tank."""
        went_m3, work_j = self._supply(-out_m3)
        self.tank_m3 -= went_m3
        self.ledger.throttled_j -= work_j

    def _fill(self, seconds: float, ways: Ways) -> None:
        inflow_m3 = ((ways.pump_m3_s if self.tank_m3 > 0.0 else 0.0) + ways.hand_m3_s) * seconds
        if ways.hand_m3_s:
            self._fill_hand_line()
        if inflow_m3:
            went_m3, work_j = self._supply(inflow_m3)
            self.tank_m3 -= went_m3
            self.ledger.pumped_j += work_j
        self._relieve(seconds)
        leak = self._leaks.per_pa(pumping=ways.pumping) * self._thinness + self._relief_leak
        if leak:
            out_m3 = leak * self.system_pa * seconds
            self._lose(out_m3)
            spilled_m3 = self._leaks.outside * self._thinness * self.system_pa * seconds
            self.spilled_m3 += spilled_m3
            self.tank_m3 -= spilled_m3
        if self._bypass_m2:
            self._lose(self._bypass_m2 * self._jet * math.sqrt(self.system_pa) * seconds)

    def _fill_hand_line(self) -> None:
        """The hand pump's line comes to the pressure it pumps against, or falls to it."""
        filled_m3 = self._hand.stored_m3(self.system_pa)
        work_j = self._hand.energy_j(self.system_pa) - self._hand.energy_j(self.hand_pa)
        self.tank_m3 -= filled_m3 - self.hand_m3
        self.hand_m3 = filled_m3
        self.ledger.pumped_j += max(0.0, work_j)
        self.ledger.throttled_j += max(0.0, -work_j)

    def _relieve(self, seconds: float) -> None:
        """Through the relief valve, at the pressure that is left at the end of the step."""
        over_pa = self.system_pa - self._relief_pa
        if over_pa <= 0.0:
            return
        most_m3 = _RELIEF_M3_S_PA * over_pa * seconds
        if self.accumulator_isolated:
            most_m3 = min(most_m3, self.line_m3 - self._line.stored_m3(self._relief_pa))
        self._lose(most_m3)

    def _bleed(self, seconds: float, ways: Ways) -> None:
        jet = _BLEED_M2 * self._jet * seconds
        if ways.accumulator_bleed:
            before_j = self.bladder.work_j
            out_m3 = jet * ways.accumulator_bleed * math.sqrt(self.accumulator_pa)
            self.tank_m3 -= self.bladder.take(-out_m3)
            self.ledger.throttled_j -= self.bladder.work_j - before_j
        if ways.hand_bleed and self.hand_m3:
            self.ledger.throttled_j += self._hand.energy_j(self.hand_pa)
            self.tank_m3 += self.hand_m3
            self.hand_m3 = 0.0
        for side, share in ((self.full, ways.cylinder_bleed), (self.ring, ways.cylinder_b_bleed)):
            if share:
                reach_m = self._reach_m(side)
                over_m3 = side.stored_m3 - side.stored_at_m3(0.0, reach_m)
                out_m3 = min(max(0.0, over_m3), jet * share * math.sqrt(side.pressure_pa(reach_m)))
                before_j = side.energy_j(reach_m)
                side.stored_m3 -= out_m3
                self.tank_m3 += out_m3
                self.ledger.throttled_j += before_j - side.energy_j(reach_m)

    def _reach_m(self, side: Side) -> float:
        return self.rod_m if side is self.full else self.stroke_m - self.rod_m

    def _open_to_tank(self, side: Side) -> None:
        """A side that is led to the tank falls to its line's pressure before anything moves."""
        reach_m = self._reach_m(side)
        before_j = side.energy_j(reach_m)
        lost_pa = self._loss * self._speed_m_s * side.area_m2
        side.behind_pa = (self._back_pa if self._speed_m_s else 0.0) + lost_pa
        self.ledger.throttled_j += before_j - side.energy_j(reach_m)

    def _lead_to_tank(self, side: Side, before_m: float) -> None:
        """A side that was open to the tank keeps what its pressure holds; the tank has the rest, at no pressure."""
        behind_pa, side.behind_pa = side.behind_pa or 0.0, None
        began_m = before_m if side is self.full else self.stroke_m - before_m
        wanted_m3 = side.stored_at_m3(behind_pa, self._reach_m(side))
        self.ledger.throttled_j += work_pa(behind_pa) * (side.stored_at_m3(behind_pa, began_m) - wanted_m3)
        self.tank_m3 -= wanted_m3 - side.stored_m3
        side.stored_m3 = wanted_m3

    def _feed(self, side: Side, opening: float, seconds: float) -> tuple[float, float]:
        """Through the flow control, as long as the supply stands above the side; how much, and the supply's work."""
        supply_pa, here_pa = self.system_pa, side.pressure_pa(self._reach_m(side))
        if here_pa >= supply_pa:
            return 0.0, 0.0
        flow_m3_s = min(side.flow_m3_s * opening, _VALVE_M2 * self._jet * math.sqrt(supply_pa - here_pa))
        more_m3 = min(flow_m3_s * seconds, self.line_m3 if self.accumulator_isolated else self.bladder.stored_m3)

        def over(share_m3: float) -> float:
            rod_m = self._balance(side, share_m3)
            reach_m = rod_m if side is self.full else self.stroke_m - rod_m
            return side.pressure_pa(reach_m, share_m3) - supply_pa

        if over(more_m3) > 0.0:
            more_m3 = find_root(over, 0.0, more_m3, 100.0)
        went_m3, work_j = self._supply(-more_m3)
        side.stored_m3 -= went_m3
        return -went_m3, -work_j

    def _leak_past_the_seal(self, seconds: float) -> None:
        if not self._seal:
            return
        difference_pa = self.pressure_pa - self.pressure_b_pa
        past_m3 = self._seal * difference_pa * seconds * self._thinness
        past_m3 = max(-self.ring.stored_m3, min(self.full.stored_m3, past_m3))
        before_j = self._sides_j()
        self.full.stored_m3 -= past_m3
        self.ring.stored_m3 += past_m3
        self.ledger.throttled_j += before_j - self._sides_j()

    def _friction_n(self, rod_m: float, *, positive: bool, moving: bool = True) -> float:
        travel_pct, arm_m = self.geometry.place(rod_m)
        return self.friction.load(travel_pct, opening=positive is self.opens, moving=moving) / arm_m / self._efficiency

    def _balance(self, fed: Side | None = None, more_m3: float = 0.0) -> float:
        """Where the rod comes to rest with the oil that is stored, and `more_m3` on one side."""
        on_full = more_m3 if fed is self.full else 0.0
        on_ring = more_m3 if fed is self.ring else 0.0

        here_m, here_n = self.rod_m, self._rod.push_n(self.rod_m, on_full, on_ring)
        for positive, end_m, sign in ((True, self.stroke_m, 1.0), (False, 0.0, -1.0)):
            held_n = self._friction_n(here_m, positive=positive, moving=self._moving == sign)
            if sign * here_n <= held_n or here_m == end_m:
                continue

            def over(rod_m: float, sign: float = sign, positive: bool = positive) -> float:  # noqa: FBT001  # bound
                return sign * self._rod.push_n(rod_m, on_full, on_ring) - self._friction_n(rod_m, positive=positive)

            free_m = self.full.free_m(on_full) if positive else self.stroke_m - self.ring.free_m(on_ring)
            far_m = min(end_m, free_m) if positive else max(end_m, free_m)
            if over(far_m) >= 0.0:
                return far_m
            return find_root(over, here_m, far_m, 0.5) if over(here_m) > 0.0 else here_m
        return here_m
