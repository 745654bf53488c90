"""One unit as its sheet describes it, in SI units: the parts that every figure is made of."""

from functools import cached_property

from commission.engineering.accumulator import Charge, absolute_pa
from commission.engineering.drive import PA_PER_BAR, Drive, drive_of
from commission.engineering.nitrogen import precharge_pa
from commission.engineering.outflow import Way, line_resistance_pa_s_m3
from commission.engineering.pump import Pump
from commission.engineering.quadrature import mean
from commission.engineering.viscosity import Oil, oil_of
from commission.sheet.model import End, Sheet

REFERENCE_C = 20.0
"""Oil temperature that a sheet's stroke times, effective areas and pump efficiency hold for."""


class Unit:
    """
    A unit's parts.

    Args:
        sheet: What it is.

    Raises:
        ValueError: the sheet contradicts itself.
    """

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self.drive: Drive = drive_of(sheet)

    @cached_property
    def oil(self) -> Oil | None:
        """The oil's viscosity; None where the sheet gives fewer than two points."""
        fluid = self.sheet.fluid
        return oil_of(fluid.viscosity_at_c, thickened=fluid.thickened) if len(fluid.viscosity_at_c) > 1 else None

    @cached_property
    def reference_m2_s(self) -> float:
        """Viscosity at the reference temperature, m²/s; 0 where the sheet does not tell it."""
        return self.viscosity_m2_s(REFERENCE_C)

    def viscosity_m2_s(self, celsius: float) -> float:
        """Viscosity at a temperature, m²/s; 0 where the sheet does not tell it, or its table does not reach there."""
        if self.oil is None:
            return 0.0
        try:
            return self.oil.mm2_s(celsius) * 1e-6
        except ValueError:
            return 0.0

    @cached_property
    def empty_share(self) -> float:
        """Share of the design load on an empty line; 1 where the sheet is silent, which errs on the heavy side."""
        return self.sheet.valve.empty_line_share or 1.0

    @cached_property
    def pump(self) -> Pump:
        """The pump; its stated efficiency holds for the mean pressure of its ordinary work, with oil at 20 °C."""
        pump = self.sheet.pump
        return Pump(
            displacement_m3=pump.displacement_cm3 * 1e-6,
            speed_per_s=pump.speed_rpm / 60,
            efficiency=pump.volumetric_efficiency,
            at_pa=self._ordinary_pa,
            at_m2_s=self.reference_m2_s,
        )

    @cached_property
    def _ordinary_pa(self) -> float:
        """Mean pressure that the pump works against: of the empty-line stroke, or between its switch points."""
        pump = self.sheet.pump
        if self.drive.double_acting:
            return (pump.cut_in_bar + pump.cut_out_bar) / 2 * PA_PER_BAR
        towards = self.drive.powered_ends[0]
        stroke_m = self.drive.cylinder.stroke_m
        return mean(lambda rod: self.drive.pressure_along(towards, self.empty_share, rod), 0.0, stroke_m)

    @cached_property
    def charge(self) -> Charge | None:
        """The accumulator at 20 °C or what the sheet gives its precharge at; None without one."""
        return None if self.sheet.accumulator is None else self.charge_at(self.sheet.accumulator.precharge_at_c)

    def charge_at(self, gas_c: float) -> Charge | None:
        """
        The accumulator with its gas at a temperature, as real nitrogen.

        Raises:
            ValueError: outside the range of the gas equation.
        """
        bottle = self.sheet.accumulator
        if bottle is None:
            return None
        now_pa = bottle.precharge_bar * PA_PER_BAR
        if gas_c != bottle.precharge_at_c:
            now_pa = precharge_pa(now_pa, bottle.precharge_at_c, gas_c)
        return Charge(volume_m3=bottle.volume_l / 1000, precharge_abs_pa=absolute_pa(now_pa))

    def way_out(self, oil_c: float = REFERENCE_C, *, partial: bool = False) -> Way | None:
        """
        The way out of the spring stroke, or of the partial stroke; None where the sheet gives no area.

        The effective area includes the return line with oil at 20 °C; thicker oil adds the line's laminar loss on top.
        """
        orifices, fluid = self.sheet.orifices, self.sheet.fluid
        area_mm2 = orifices.partial_stroke_mm2 if partial else orifices.spring_stroke_mm2
        if area_mm2 is None:
            return None
        line = 0.0
        if orifices.return_line_mm is not None and orifices.return_line_m is not None and self.reference_m2_s:
            thicker = max(0.0, self.viscosity_m2_s(oil_c) - self.reference_m2_s)
            line = line_resistance_pa_s_m3(
                thicker, fluid.density_kg_m3, orifices.return_line_m, orifices.return_line_mm / 1000
            )
        return Way(orifice_m2=area_mm2 * 1e-6, density_kg_m3=fluid.density_kg_m3, line_pa_s_m3=line)

    def flow_control_m3_s(self, towards: End) -> float | None:
        """Flow that a flow control holds into the cylinder; None where the sheet names none."""
        orifices = self.sheet.orifices
        flow = orifices.opening_flow_l_min if towards is End.OPEN else orifices.closing_flow_l_min
        return None if flow is None else flow / 60_000

    @property
    def cut_in_pa(self) -> float:
        """Pressure at which the motor starts."""
        return self.sheet.pump.cut_in_bar * PA_PER_BAR

    @property
    def cut_out_pa(self) -> float:
        """Pressure at which the motor stops."""
        return self.sheet.pump.cut_out_bar * PA_PER_BAR

    @property
    def bulk_pa(self) -> float:
        """Bulk modulus of the oil as installed."""
        return self.sheet.fluid.bulk_modulus_gpa * 1e9
