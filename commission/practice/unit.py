"""
One practice unit: machine, control unit, instruments and the site around them, stepped by its own scan.

`advance` is the only clock: it is told how much unit time has passed and runs every scan that fell into it. No input,
no output, no waiting here.
"""

import msgspec

from commission.practice.climate import Climate
from commission.practice.condition import HEALTHY, Condition
from commission.practice.cores import Cores
from commission.practice.electrics import Electrics
from commission.practice.fieldside import FieldSide, field_side
from commission.practice.fluid import Oil
from commission.practice.follower import Follower
from commission.practice.ice import Ice
from commission.practice.instruments import Limits, Noise, PositionSensor
from commission.practice.machine import Board, Machine, board_of, machine_of
from commission.practice.mechanism import PA_PER_BAR
from commission.practice.mirror import turned_inputs, turned_order, turned_word
from commission.practice.onboard import Onboard
from commission.practice.orders import Inputs, Order, Refused, Wanted
from commission.practice.outlets import Ways
from commission.practice.readings import readings_of
from commission.practice.recorder import StemRecorder
from commission.practice.settings import settings_of
from commission.sheet import End, Sheet

_NS = 1_000_000_000
_STEP_S = 0.01
"""What the machine is stepped by while something moves; at rest one step a scan is enough."""

_LEAST_SCAN_S = 0.005
_HAND_M3_S = 5e-6
_DROP_M3 = 1e-12
_HOME_SHARE = 0.9
_THICKENS_C = 0.1
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
    stem_pct: float
    pressure_b_bar: float
    system_bar: float
    oil_c: float
    heater_w: float


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
        self.condition = condition
        self.hydraulics: Machine = machine_of(sheet, condition)
        self.electrics = Electrics(sheet, condition)
        self.climate = Climate(sheet, condition)
        self.hydraulics.celsius = self.climate.trapped_c
        self.settings = settings_of(sheet, condition)
        self.onboard: Board = board_of(sheet, self.settings, condition)
        self.limits = Limits(condition, seed)
        self.sensor = PositionSensor(condition)
        self.play_pct = condition.lost_motion_pct
        self.recorder = StemRecorder()
        self.side: FieldSide = field_side([volume.bleed for volume in sheet.volumes if volume.bleed], condition)
        self.link_silent_s = 0.0
        self.relay_changed_s = 0.0
        self.starts_total = _STARTS_BEFORE
        self.run_s_total = float(_RUN_BEFORE_S)
        self.cores = Cores(sheet, condition, seed)
        self._seed = seed
        scan_s = max(sheet.link.scan_s, _LEAST_SCAN_S)
        self._scan_ns = round(scan_s * _NS)
        self._steps = max(2, round(scan_s / _STEP_S))
        self._carry_ns = 0
        self._scans = 0
        self._readings: dict[str, float] | None = None
        self._oil = Oil(sheet.fluid, condition.viscosity_factor)
        self._thick_at_c: float | None = None
        self._ice = Ice(condition, seed)
        self._dump_asked_s = 0.0
        self._dump_held_s = condition.dump_delay_s
        self._cut_out = False
        self._cut_out_pa = (condition.cut_out_bar or sheet.pump.cut_out_bar) * PA_PER_BAR
        self._mirrored = isinstance(self.onboard, Onboard) and not sheet.actuator.pressure_opens
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
        if self.condition.directions_swapped:
            order = turned_order(order)
        if self._mirrored:
            self.onboard.order(turned_order(order), turned_inputs(self.inputs()), remote=remote)
        else:
            self.onboard.order(order, self.inputs(), remote=remote)
        self._readings = None

    def command_to(self, percent: float) -> None:
        """
        A set point over the link, in % of travel.

        Raises:
            Refused: the unit follows no set point, or not now.

            ValueError: not 0 to 100 %.
        """
        if not isinstance(self.onboard, Follower):
            raise Refused("this unit does not follow a set point")
        self.onboard.command_to(percent, self.inputs())
        self._readings = None

    def change_setting(self, role: str, value: float) -> None:
        """
        Set a setting over the link, in its role's unit.

        Raises:
            ValueError: a value no protection can be set to.
        """
        self.settings.change(role, value)
        self._readings = None

    @property
    def fluid_low(self) -> bool:
        """What the level switch says."""
        return self.side.float_lifted or self.hydraulics.tank_m3 * 1000 < self.sheet.tank.low_switch_l

    @property
    def sensed_pct(self) -> float:
        """Travel as the position sensor makes it, before noise."""
        return self.sensor.travel_pct(self.hydraulics.travel_pct)

    @property
    def motor_powered(self) -> bool:
        """Whether the motor's contactor is in."""
        return self.onboard.pump_on or (self.condition.contactor_welded and self.side.motor_on)

    def inputs(self) -> Inputs:
        """What the control unit sees now."""
        oil = self.hydraulics
        switched_pa = self._cut_out_pa if self._cut_out else 0.0  # the switch has opened, if only for a moment
        return Inputs(
            now_s=self.now_s,
            travel_pct=self.sensed_pct,
            open_limit=self.limits.open_made,
            closed_limit=self.limits.closed_made,
            pressure_pa=max(oil.pressure_pa, switched_pa) if oil.pump_pa == oil.pressure_pa else oil.pressure_pa,
            fluid_low=self.fluid_low,
            supply_v=self.electrics.supply_v,
            esd_loop=self.side.esd_loop,
            selector=self.side.selector,
            hand_lever_stowed=self.side.hand_lever_stowed,
            pipeline_pa=self.side.monitored_bar * PA_PER_BAR,
            link_silent_s=self.link_silent_s,
            system_pa=max(oil.pump_pa, switched_pa),
            command=self.side.command_now,
            oil_cold=self.climate.oil_too_cold,
            pushed_home=self._pushed_home,
        )

    def readings(self) -> dict[str, float]:
        """
        What the unit's registers hold since its last scan, by role.

        Numbers in the role's unit; bits 1.0 for the role's `true_word`.
        """
        if self._readings is None:
            self._readings = readings_of(self, Noise(self._seed, self._scans))
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
            motor_turning=self.motor_powered and self.side.motor_on,
            dump_open=board.dump_open,
            partial_open=board.bleed_open,
            wanted=turned_word(board.wanted) if self._mirrored else str(board.wanted),
            partial_phase=board.partial.phase,
            tripped=board.tripped,
            open_limit=self.limits.open_made,
            closed_limit=self.limits.closed_made,
            alarms=tuple(sorted(board.alarms)),
            oil_l=oil.oil_m3 * 1000,
            tank_l=oil.tank_m3 * 1000,
            control_on=self.side.control_on,
            stem_pct=self.stem_pct,
            pressure_b_bar=oil.pressure_b_pa / PA_PER_BAR,
            system_bar=oil.pump_pa / PA_PER_BAR,
            oil_c=self.climate.oil_c,
            heater_w=self.climate.heater_w,
        )

    @property
    def _pushed_home(self) -> bool:
        """Driven against an end: the fed side carries the supply."""
        oil = self.hydraulics
        return max(oil.pressure_pa, oil.pressure_b_pa) >= _HOME_SHARE * oil.pump_pa

    def _start_at(self, start: End) -> None:
        cut_out_bar = self.condition.cut_out_bar or self.sheet.pump.cut_out_bar
        self.hydraulics.start(start, cut_out_bar * PA_PER_BAR)
        self.stem_pct = self.hydraulics.travel_pct
        if isinstance(self.onboard, Onboard):
            if (start is End.OPEN) is self.hydraulics.opens:
                self.onboard.wanted = Wanted.OPEN
        else:
            self.side.command_signal = self.onboard.signal_for(100.0 if start is End.OPEN else 0.0)
        self.limits.scan(self.hydraulics.travel_pct)

    def _scan(self, seconds: float) -> None:
        self._scans += 1
        self._readings = None
        self.side.step(seconds)
        self.link_silent_s += seconds if self.side.link_cut else 0.0
        if not self.side.control_on:
            self.onboard.lose_power()
        ways = self._ways(seconds)
        moving = self.motor_powered or ways.dump_open or ways.partial_open or ways.spool != 0.0
        steps = self._steps if moving else 1
        self._cut_out = False
        for _ in range(steps):
            self._step(seconds / steps, ways)
        self._follow_stem()
        self.recorder.see(self.now_s, self.stem_pct, healthy=self.side.control_on and self.side.esd_loop)
        self.limits.scan(self.hydraulics.travel_pct)
        self._warm(seconds)
        if self.side.control_on:
            self._run_onboard(seconds)

    def _step(self, seconds: float, ways: Ways) -> None:
        powered = self.motor_powered and self.side.motor_on
        if not self.condition.contactor_welded:  # the pressure switch sits in the contactor's own circuit
            self._cut_out |= self.hydraulics.pump_pa >= self._cut_out_pa
            powered = powered and not self._cut_out
        self.electrics.step(seconds, powered=powered, pressure_pa=self.hydraulics.pump_pa)
        ways.pump_m3_s = self.electrics.flow_m3_s
        ways.pumping = powered
        self.hydraulics.step(seconds, ways)

    def _follow_stem(self) -> None:
        """The stem follows the actuator, within its play; a sheared one stays."""
        if self.condition.stem_sheared:
            return
        at_pct, half_pct = self.hydraulics.travel_pct, self.play_pct / 2
        self.stem_pct = min(max(self.stem_pct, at_pct - half_pct), at_pct + half_pct)

    def _run_onboard(self, seconds: float) -> None:
        was_on, was_healthy = self.motor_powered, self.onboard.healthy
        seen = self.inputs()
        self.onboard.scan(seconds, turned_inputs(seen) if self._mirrored else seen)
        if self.onboard.healthy is not was_healthy:
            self.relay_changed_s = self.now_s
        self.starts_total += self.motor_powered and not was_on
        self.run_s_total += seconds if self.motor_powered else 0.0

    def _ways(self, seconds: float) -> Ways:
        side = self.side
        short_m3 = self.hydraulics.short_of_m3(side.hand_pump_to_bar * PA_PER_BAR)
        if short_m3 <= _DROP_M3:
            side.hand_pump_to_bar = short_m3 = 0.0
        return Ways(
            hand_m3_s=min(_HAND_M3_S, short_m3 / seconds),
            spool=self._spool(),
            dump_open=self._dump_is_open(seconds),
            partial_open=self.onboard.bleed_open,
            cylinder_bleed=self._bleed("cylinder"),
            cylinder_b_bleed=self._bleed("cylinder-b"),
            accumulator_bleed=self._bleed("accumulator-oil"),
            hand_bleed=self._bleed("hand-pump"),
        )

    def _bleed(self, volume: str) -> float:
        return self.side.bleeds.get(self._bleed_of.get(volume, ""), 0.0)

    def _spool(self) -> float:
        """The proportional valve, or in an emergency the emergency valve, as the machine counts directions."""
        tripped = self.onboard.tripped and isinstance(self.onboard, Follower)
        if tripped and (self.condition.dump_stuck or self._dump_asked_s < self._dump_held_s):
            return 0.0
        return self.onboard.spool if self.hydraulics.opens else -self.onboard.spool

    def _dump_is_open(self, seconds: float) -> bool:
        """Whether oil leaves by the dump: its coil is off, has been for as long as it takes, and nothing holds it."""
        asked = self.onboard.dump_open or self.onboard.tripped
        if asked and not self._dump_asked_s:
            self._dump_held_s = self.condition.dump_delay_s + self._ice.holds_s(self.climate.oil_c)
        self._dump_asked_s = self._dump_asked_s + seconds if asked else 0.0
        if not self.onboard.dump_open or self.side.dump_blocked or self.condition.dump_stuck:
            return False
        return self._dump_asked_s > self._dump_held_s

    def _warm(self, seconds: float) -> None:
        turning = self.motor_powered and self.side.motor_on
        climate = self.climate
        climate.step(seconds, self.now_s, self.side.ambient_c, turning=turning, fed=self.side.heater_isolator)
        self.hydraulics.warm(climate.trapped_c)
        if self._thick_at_c is None or abs(climate.oil_c - self._thick_at_c) > _THICKENS_C:
            self._thick_at_c = climate.oil_c
            self.hydraulics.thicken(climate.oil_c)
            self.electrics.suction = self._oil.suction_share(climate.oil_c, self.condition.suction_share)
            self.electrics.thinness = self._oil.thinness(climate.oil_c)
