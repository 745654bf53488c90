"""
Strokes of one unit: by pump, by spring, by flow control, in given conditions.

What a condition may change stands in `Conditions`, so that the sheet's stroke, today's and the worst day's are the same
computation with other numbers.
"""

import math

import msgspec

from commission.engineering.outflow import Way, outflow_time_s
from commission.engineering.pump import loaded_stroke_time_s
from commission.engineering.trapped_oil import compressed_m3
from commission.engineering.unit import REFERENCE_C, Unit
from commission.sheet.model import End


class Conditions(msgspec.Struct, frozen=True, kw_only=True):
    """
    What a stroke is computed for.

    Args:
        load_share: Of the valve's design load; None for an empty line.

        oil_c: Oil temperature.

        speed_share: Of the pump's rated speed, as the supply gives it.

        area_factor: On the effective area of the way out, as fitted from a measured stroke.

        spring_factor: On the spring's force.

        flow_factor: On the pump's flow, as fitted from a measured stroke.

        back_pa: Constant pressure in the return line.
    """

    load_share: float | None = None
    oil_c: float = REFERENCE_C
    speed_share: float = 1.0
    area_factor: float = 1.0
    spring_factor: float = 1.0
    flow_factor: float = 1.0
    back_pa: float = 0.0


EMPTY_LINE = Conditions()
"""No pressure difference, oil at 20 °C, rated supply: what a sheet's expected times mean."""


class Stroke(msgspec.Struct, frozen=True, kw_only=True):
    """
    A computed stroke.

    Args:
        time_s: From first to last motion; infinite where it stops on the way.

        start_pa: Gauge pressure at first motion.

        end_pa: At the end of motion.

        largest_pa: On the way.

        by: `pump`, `spring` or `flow control`.
    """

    time_s: float
    start_pa: float
    end_pa: float
    largest_pa: float
    by: str

    @property
    def finishes(self) -> bool:
        """Whether it gets to its end at all."""
        return math.isfinite(self.time_s)


class Mover:
    """
    The strokes of a unit.

    Args:
        unit: The unit.
    """

    def __init__(self, unit: Unit) -> None:
        self._unit = unit

    def stroke(self, towards: End, conditions: Conditions = EMPTY_LINE) -> Stroke | None:
        """The stroke to an end; None where the sheet does not give enough."""
        if self._unit.flow_control_m3_s(towards) is not None:
            return self._controlled(towards, conditions)
        if towards in self._unit.drive.powered_ends:
            return self._pumped(towards, conditions)
        way = self._way(conditions)
        return None if way is None else self._let_out(towards, conditions, way, 0.0, 1.0)

    def to_travel_s(self, towards: End, gone: float, conditions: Conditions = EMPTY_LINE) -> float | None:
        """Time until a share of the way is gone, from first motion; None where the sheet does not give enough."""
        if self._unit.flow_control_m3_s(towards) is not None:
            return (self._controlled(towards, conditions)).time_s * gone
        if towards in self._unit.drive.powered_ends:
            return self._pump_time_s(towards, conditions, gone)
        way = self._way(conditions)
        return None if way is None else self._let_out(towards, conditions, way, 0.0, gone).time_s

    def partial(self, gone: float, conditions: Conditions = EMPTY_LINE) -> Stroke | None:
        """The part of a spring stroke that leaves through the partial stroke's own path."""
        towards = self._unit.drive.spring_end
        way = self._way(conditions, partial=True)
        return None if way is None or towards is None else self._let_out(towards, conditions, way, 0.0, gone)

    def build_up_s(self, towards: End, conditions: Conditions = EMPTY_LINE) -> float:
        """
        Time in which the pump compresses the oil of the whole cylinder to the breakaway pressure: dead time at most.

        The oil shut in at the start end is less than that; free air makes it longer by far.
        """
        unit = self._unit
        start_pa = unit.drive.moving_pa(_start(towards), towards, self._share(conditions))
        oil_m3 = compressed_m3(unit.drive.stroke_m3(towards), start_pa, unit.bulk_pa)
        flow = unit.pump.flow_m3_s(start_pa / 2, self._viscosity(conditions), conditions.speed_share)
        return oil_m3 / (flow * conditions.flow_factor) if flow else math.inf

    def fill_s(self, from_pa: float, to_pa: float, conditions: Conditions = EMPTY_LINE, gas_c: float = 20.0) -> float:
        """
        Time in which the pump raises the accumulator from one gauge pressure to another, slowly (n = 1).

        Args:
            from_pa: Gauge; below precharge for an empty accumulator.

            to_pa: Gauge.

            conditions: Oil temperature and supply.

            gas_c: Of the nitrogen.
        """
        unit, charge = self._unit, self._unit.charge_at(gas_c)
        if charge is None:
            return 0.0
        oil_m3 = charge.usable_m3(from_pa + 101_325.0, to_pa + 101_325.0)
        low_pa = max(from_pa, charge.precharge_abs_pa - 101_325.0)
        flow = unit.pump.flow_m3_s((low_pa + to_pa) / 2, self._viscosity(conditions), conditions.speed_share)
        return oil_m3 / (flow * conditions.flow_factor) if flow else math.inf

    def _share(self, conditions: Conditions) -> float:
        return self._unit.empty_share if conditions.load_share is None else conditions.load_share

    def _viscosity(self, conditions: Conditions) -> float:
        found = self._unit.viscosity_m2_s(conditions.oil_c) or self._unit.reference_m2_s
        return found or 1e-5  # without a table slip does not depend on it

    def _way(self, conditions: Conditions, *, partial: bool = False) -> Way | None:
        way = self._unit.way_out(conditions.oil_c, partial=partial)
        if way is None:
            return None
        return msgspec.structs.replace(
            way, orifice_m2=way.orifice_m2 * conditions.area_factor, back_pa=conditions.back_pa
        )

    def _pressure(self, towards: End, conditions: Conditions, rod_m: float) -> float:
        drive = self._unit.drive
        weaker = (1.0 - conditions.spring_factor) * drive.spring_force_n(drive.mechanism.travel_at(rod_m))
        moving = drive.pressure_along(towards, self._share(conditions), rod_m)
        return moving - weaker / drive.cylinder.piston_m2

    def _pumped(self, towards: End, conditions: Conditions) -> Stroke:
        time_s = self._pump_time_s(towards, conditions, 1.0)
        relief_pa = self._unit.sheet.pump.relief_bar * 1e5
        found = self._described(towards, conditions, time_s, 1.0, "pump")
        return found if found.largest_pa < relief_pa else msgspec.structs.replace(found, time_s=math.inf)

    def _pump_time_s(self, towards: End, conditions: Conditions, gone: float) -> float:
        unit, (low, high) = self._unit, self._rods(towards, gone)
        time_s = loaded_stroke_time_s(
            unit.pump,
            unit.drive.area_m2(towards),
            high - low,
            lambda rod: self._pressure(towards, conditions, low + rod),
            self._viscosity(conditions),
            conditions.speed_share,
        )
        return time_s / conditions.flow_factor

    def _let_out(self, towards: End, conditions: Conditions, way: Way, start: float, gone: float) -> Stroke:
        low, high = self._rods(towards, gone, start)
        area_m2 = self._unit.drive.cylinder.piston_m2
        time_s = outflow_time_s(way, area_m2, low, high, lambda rod: self._pressure(towards, conditions, rod))
        return self._described(towards, conditions, time_s, gone, "spring")

    def _controlled(self, towards: End, conditions: Conditions) -> Stroke:
        flow = self._unit.flow_control_m3_s(towards) or 0.0
        time_s = self._unit.drive.stroke_m3(towards) / (flow * conditions.flow_factor)
        return self._described(towards, conditions, time_s, 1.0, "flow control")

    def _rods(self, towards: End, gone: float, start: float = 0.0) -> tuple[float, float]:
        """Rod positions, low and high, of the way from one share gone to another."""
        mechanism = self._unit.drive.mechanism
        ends = (start, gone) if towards is End.OPEN else (1.0 - start, 1.0 - gone)
        low, high = sorted(mechanism.rod_m(end) for end in ends)
        return low, high

    def _described(self, towards: End, conditions: Conditions, time_s: float, gone: float, by: str) -> Stroke:
        low, high = self._rods(towards, gone)
        along = [self._pressure(towards, conditions, low + (high - low) * step / 60) for step in range(61)]
        first, last = (along[0], along[-1]) if towards is End.OPEN else (along[-1], along[0])
        return Stroke(time_s=time_s, start_pa=first, end_pa=last, largest_pa=max(along), by=by)


def _start(towards: End) -> float:
    return 0.0 if towards is End.OPEN else 1.0
