"""
One practice unit: machine, control unit, instruments and the site around them, stepped by its own scan.

`advance` is the only clock: it is told how much unit time has passed and runs every scan that fell into it. No input,
no output, no waiting here.
"""

import math

import msgspec

from commission.practice.condition import HEALTHY, Condition
from commission.practice.cores import Cores
from commission.practice.electrics import Electrics
from commission.practice.fieldside import FieldSide, field_side
from commission.practice.hydraulics import Hydraulics, Ways
from commission.practice.instruments import PRESSURE_NOISE_BAR, SUPPLY_NOISE_V, TRAVEL_NOISE_PCT, Limits, Noise
from commission.practice.mechanism import PA_PER_BAR, Mechanism
from commission.practice.onboard import Inputs, Onboard, Order, Selector, Wanted
from commission.practice.settings import SETTING_ROLES, settings_of
from commission.sheet import End, Sheet

_NS = 1_000_000_000
_STEPS_A_SCAN = 2
_LEAST_SCAN_S = 0.005
_HAND_M3_S = 5e-6
_DROP_M3 = 1e-12
_RESIDUAL_BAR = 18.0
_AMBIENT_S = 10_000.0
_HEATING_C_S = 0.004
_STARTS_BEFORE = 37
_RUN_BEFORE_S = 4210


class Truth(msgspec.Struct, frozen=True, kw_only=True):
    """The true state, for tests; nobody on site can see it."""

    at_s: float
    travel_pct: float
    rod_mm: float
    pressure_bar: float
    accumulator_bar: float
    hand_pump_bar: float
    pump_on: bool
    motor_turning: bool
    dump_open: bool
    partial_open: bool
    wanted: str
    partial_phase: str
    tripped: bool
    open_limit: bool
    closed_limit: bool
    alarms: tuple[str, ...]
    oil_l: float
    tank_l: float
    control_on: bool


class PracticeUnit:
    """
    A unit that lives in unit time.

    Args:
        sheet: What it is.

        condition: Its planted findings.

        start: At which end it stands at the start: open at cut-out pressure, or closed with a little oil pressure left.

        seed: Of its noise.

    Raises:
        NotServed: the sheet describes a unit that cannot be played.
    """

    def __init__(self, sheet: Sheet, *, condition: Condition = HEALTHY, start: End = End.CLOSED, seed: int = 0) -> None:
        self.sheet = sheet
        self.mechanism = Mechanism(sheet, condition)
        self.hydraulics = Hydraulics(sheet, condition, self.mechanism)
        self.electrics = Electrics(sheet, condition)
        self.settings = settings_of(sheet, condition)
        self.onboard = Onboard(sheet, self.settings)
        self.limits = Limits(condition, seed)
        self.side: FieldSide = field_side([volume.bleed for volume in sheet.volumes if volume.bleed], condition)
        self.oil_c = condition.oil_c
        self.link_silent_s = 0.0
        self.starts_total = _STARTS_BEFORE
        self.run_s_total = float(_RUN_BEFORE_S)
        self._cores = Cores(sheet, condition, seed)
        self._seed = seed
        self._scan_ns = round(max(sheet.link.scan_s, _LEAST_SCAN_S) * _NS)
        self._carry_ns = 0
        self._scans = 0
        self._readings: dict[str, float] | None = None
        self._bleed_of = {volume.id: volume.bleed for volume in sheet.volumes if volume.bleed}
        self._start_at(start)

    def advance(self, seconds: float) -> None:
        """Let `seconds` of unit time pass."""
        self.advance_ns(round(seconds * _NS))

    def advance_ns(self, nanoseconds: int) -> None:
        """Let this much unit time pass; what is short of a whole scan is carried over."""
        self._carry_ns += nanoseconds
        while self._carry_ns >= self._scan_ns:
            self._carry_ns -= self._scan_ns
            self._scan(self._scan_ns / _NS)

    @property
    def now_s(self) -> float:
        """Unit time of the last scan, from 0 at the start."""
        return self._scans * self._scan_ns / _NS

    def order(self, order: Order, *, remote: bool) -> None:
        """
        A command from the link or from the panel at the unit.

        Raises:
            Refused: the unit does not take it now.
        """
        self.onboard.order(order, self.inputs(), remote=remote)
        self._readings = None

    def change_setting(self, role: str, value: float) -> None:
        """
        Set a setting over the link, in its role's unit.

        Raises:
            ValueError: a value no protection can be set to.
        """
        self.settings.change(role, value)
        self._readings = None

    def inputs(self) -> Inputs:
        """What the control unit sees now."""
        return Inputs(
            now_s=self.now_s,
            travel_pct=self.hydraulics.travel_pct,
            open_limit=self.limits.open_made,
            closed_limit=self.limits.closed_made,
            pressure_pa=self.hydraulics.pressure_pa,
            fluid_low=self.side.float_lifted or self.hydraulics.tank_m3 * 1000 < self.sheet.tank.low_switch_l,
            supply_v=self.electrics.supply_v,
            esd_loop=self.side.esd_loop,
            selector=self.side.selector,
            hand_lever_stowed=self.side.hand_lever_stowed,
            pipeline_pa=self.side.sensing_bar * PA_PER_BAR,
            link_silent_s=self.link_silent_s,
        )

    def readings(self) -> dict[str, float]:
        """
        What the unit's registers hold since its last scan, by role.

        Numbers in the role's unit; bits 1.0 for the role's `true_word`.
        """
        if self._readings is None:
            self._readings = {**self._numbers(), **self._bits()}
            self._readings.update({role: self.settings.value(role) for role in SETTING_ROLES})
        return self._readings

    def truth(self) -> Truth:
        """The true state."""
        oil, board = self.hydraulics, self.onboard
        return Truth(
            at_s=self.now_s,
            travel_pct=oil.travel_pct,
            rod_mm=oil.rod_m * 1000,
            pressure_bar=oil.pressure_pa / PA_PER_BAR,
            accumulator_bar=oil.accumulator_pa / PA_PER_BAR,
            hand_pump_bar=oil.hand_pa / PA_PER_BAR,
            pump_on=board.pump_on,
            motor_turning=board.pump_on and self.side.motor_on,
            dump_open=board.dump_open,
            partial_open=board.bleed_open,
            wanted=board.wanted,
            partial_phase=board.partial.phase,
            tripped=board.tripped,
            open_limit=self.limits.open_made,
            closed_limit=self.limits.closed_made,
            alarms=tuple(sorted(board.alarms)),
            oil_l=oil.oil_m3 * 1000,
            tank_l=oil.tank_m3 * 1000,
            control_on=self.side.control_on,
        )

    def _start_at(self, start: End) -> None:
        if start is End.OPEN:
            cut_out_pa = self.sheet.pump.cut_out_bar * PA_PER_BAR
            self.hydraulics.set_state(self.mechanism.stroke_m, cut_out_pa, 0.0)
            self.onboard.wanted = Wanted.OPEN
        else:
            residual_pa = _RESIDUAL_BAR * PA_PER_BAR
            self.hydraulics.set_state(0.0, residual_pa, residual_pa)
        self.limits.scan(self.hydraulics.travel_pct)

    def _scan(self, seconds: float) -> None:
        self._scans += 1
        self._readings = None
        self.side.step(seconds)
        if not self.side.control_on:
            self.onboard.lose_power()
        ways = self._ways(seconds)
        for _ in range(_STEPS_A_SCAN):
            self._step(seconds / _STEPS_A_SCAN, ways)
        self.limits.scan(self.hydraulics.travel_pct)
        self._warm(seconds)
        if self.side.control_on:
            self._run_onboard(seconds)

    def _step(self, seconds: float, ways: Ways) -> None:
        powered = self.onboard.pump_on and self.side.motor_on
        self.electrics.step(seconds, powered=powered, pressure_pa=self.hydraulics.pressure_pa)
        ways.pump_m3_s = self.electrics.flow_m3_s
        self.hydraulics.step(seconds, ways)

    def _run_onboard(self, seconds: float) -> None:
        was_on = self.onboard.pump_on
        self.onboard.scan(seconds, self.inputs())
        self.starts_total += self.onboard.pump_on and not was_on
        self.run_s_total += seconds if self.onboard.pump_on else 0.0

    def _ways(self, seconds: float) -> Ways:
        side = self.side
        short_m3 = self.hydraulics.short_of_m3(side.hand_pump_to_bar * PA_PER_BAR)
        if short_m3 <= _DROP_M3:
            side.hand_pump_to_bar = short_m3 = 0.0
        return Ways(
            hand_m3_s=min(_HAND_M3_S, short_m3 / seconds),
            dump_open=self.onboard.dump_open and not self.side.dump_blocked,
            partial_open=self.onboard.bleed_open,
            cylinder_bleed=self._bleed("cylinder"),
            accumulator_bleed=self._bleed("accumulator-oil"),
            hand_bleed=self._bleed("hand-pump"),
        )

    def _bleed(self, volume: str) -> float:
        return self.side.bleeds.get(self._bleed_of.get(volume, ""), 0.0)

    def _warm(self, seconds: float) -> None:
        turning = self.onboard.pump_on and self.side.motor_on
        self.oil_c += (self.side.ambient_c - self.oil_c) * seconds / _AMBIENT_S + _HEATING_C_S * seconds * turning

    def _numbers(self) -> dict[str, float]:
        noise = Noise(self._seed, self._scans)
        travel_pct = self.hydraulics.travel_pct
        feedback_ma = noise.around(4.0 + 0.16 * travel_pct, 0.004, 0.001) if self.side.loop_24v else 0.0
        pressure_bar = noise.around(self.hydraulics.pressure_pa / PA_PER_BAR, PRESSURE_NOISE_BAR, 0.01)
        return {
            "identity": float(self.sheet.identity.code),
            "travel": noise.around(travel_pct, TRAVEL_NOISE_PCT, 0.01) / 100,
            "cylinder_pressure": pressure_bar * PA_PER_BAR,
            "supply_voltage": noise.around(self.electrics.supply_v, SUPPLY_NOISE_V, 0.001),
            "oil_temperature": noise.around(self.oil_c, 0.05, 0.1),
            "motor_current": max(0.0, noise.around(self.electrics.motor_a, 0.02, 0.01)),
            "fluid_level": self.hydraulics.tank_m3 * 1000 / self.sheet.tank.volume_l,
            "starts_total": float(self.starts_total),
            "run_time_total": float(math.floor(self.run_s_total)),
            "feedback_current": feedback_ma / 1000,
            "pipeline_pressure": noise.around(self.side.sensing_bar, 0.02, 0.01) * PA_PER_BAR,
        }

    def _bits(self) -> dict[str, float]:
        board, seen = self.onboard, self.inputs()
        bits = {
            "open_limit": seen.open_limit,
            "closed_limit": seen.closed_limit,
            "motor_running": board.pump_on,
            "automatic": seen.selector is Selector.REMOTE and seen.hand_lever_stowed,
            "remote": seen.selector is Selector.REMOTE,
            "low_fluid": seen.fluid_low,
            "alarm_relay": board.healthy,
            "esd_healthy": seen.esd_loop and not board.esd_latched,
        }
        names = {point.role for point in self.sheet.points if point.role.startswith("alarm_")} - {"alarm_relay"}
        bits.update({role: role in board.alarms for role in names})
        return {role: float(bit) for role, bit in self._cores.seen(bits, self.now_s).items()}
