"""
The control unit of a modulating, double-acting unit. Run once a scan.

Rules, in the order they win.
 1. ESD loop open, or an ESD test ordered: the emergency valve leads the accumulator to the end that the sheet names,
    whatever the selector says, pump or no pump; where the sheet names none, it holds. The trip needs its loop healthy
    and then a reset; the reset moves nothing.
 2. STOP is taken from link and panel in every selector position: the valve holds until the command changes.
 3. In REMOTE it follows its command: the loop's current or voltage, or the set point of the link once that has been
    handed the command. A loop that is lost, or above 21 mA, for its time holds the valve and alarms.
 4. In LOCAL the panel's OPEN and CLOSE run to the ends; in OFF it holds.
 5. After a reset, a stop, a loss of power or a turn of the selector it holds until the command changes by more than the
    dead band: nothing stored moves the valve.
 6. The pump keeps the accumulator between cut-in and cut-out, except: selector OFF, low fluid or oil too cold (both
    return by themselves), a run over its limit (until reset), too many restarts (until the window allows).
 7. Travel and command apart by more than the deviation limit for its time: alarm. An emergency stroke that does not
    reach its end in time: alarm.
 8. The alarm relay is energised when healthy.
"""

from commission.practice.condition import Condition
from commission.practice.mechanism import NotServed
from commission.practice.monitor import PressureMonitor
from commission.practice.orders import Inputs, Order, Refused, Relay, Selector, Wanted, demand_place
from commission.practice.partial import PartialStroke
from commission.practice.settings import Settings
from commission.practice.starts import RestartLimit
from commission.sheet import End, Sheet
from commission.sheet.modulating import Signal

_PA_PER_BAR = 1e5
_TOO_HIGH_MA = 21.0
_LATE_S = 0.12
"""How much too late a badly tuned unit lets go."""


def percent_of(signal: Signal, value: float) -> float:
    """Travel that a signal stands for, kept within its ends."""
    percent = (value - signal.at_closed) / (signal.at_open - signal.at_closed) * 100.0
    return min(100.0, max(0.0, percent))


class Follower:
    """
    The logic of one modulating unit.

    Args:
        sheet: Its signals and switch settings.

        settings: The protections' settings.

        condition: Dead band and tuning as found.

    Raises:
        NotServed: the sheet does not say how the unit follows its command.
    """

    def __init__(self, sheet: Sheet, settings: Settings, condition: Condition) -> None:
        plan = sheet.modulating
        if plan is None or sheet.accumulator is None:
            raise NotServed(f"{sheet.identity.tag}: the sheet needs modulating and accumulator")
        self._plan, self._pump, self._settings = plan, sheet.pump, settings
        self._safe = sheet.accumulator.drives
        self._dead_band_pct = plan.dead_band_pct if condition.dead_band_pct is None else condition.dead_band_pct
        self._late_pct = plan.speed_pct_s * _LATE_S if condition.overshoots else 0.0
        self.monitor = PressureMonitor(settings)
        self.restarts = RestartLimit(settings)
        self.partial = PartialStroke(sheet, settings)
        self.relay = Relay(sheet)
        self.alarms = self.relay.alarms
        self.pump_on = self.dump_open = self.bleed_open = False
        self.esd_latched = False
        self.follows_link = False
        self.set_point_pct = 0.0
        self.target_pct: float | None = None
        self.spool = 0.0
        self._held_at: float | None = None
        self._panel: End | None = None
        self._signal_bad_s = self._apart_s = self._since_trip_s = 0.0
        self._run_s = self._waited_s = 0.0
        self._restarting = False
        self._selector = Selector.REMOTE
        self._command = 0.0

    @property
    def tripped(self) -> bool:
        """Whether the emergency valve has the cylinder."""
        return self.esd_latched

    @property
    def wanted(self) -> Wanted:
        """Where the valve is to go, in the words of an on/off unit."""
        if self.target_pct is None or 0.0 < self.target_pct < 100.0:
            return Wanted.STOPPED
        return Wanted.OPEN if self.target_pct else Wanted.CLOSED

    @property
    def healthy(self) -> bool:
        """State of the alarm relay: energised when healthy."""
        return self.relay.energised and not self.tripped

    def order(self, order: Order, seen: Inputs, *, remote: bool) -> None:
        """
        A command from the link (`remote`) or from the panel at the unit.

        Raises:
            Refused: not now; nothing is kept for later.
        """
        self._turn_to(seen)
        if order is Order.STOP:
            self._hold()
        elif order is Order.RESET:
            self._reset(seen, remote=remote)
        else:
            demand_place(seen, remote=remote)
            self._obey(order, remote=remote)

    def _obey(self, order: Order, *, remote: bool) -> None:
        if self.tripped:
            raise Refused("tripped: reset first")
        if order is Order.ESD_TEST:
            self.esd_latched = True
        elif order in (Order.FOLLOW_LINK, Order.FOLLOW_LOOP):
            self._hand_over(link=order is Order.FOLLOW_LINK)
        elif order in (Order.OPEN, Order.CLOSE) and not remote:
            self._panel = End.OPEN if order is Order.OPEN else End.CLOSED
        else:
            raise Refused("a modulating unit follows its command")

    def command_to(self, percent: float, seen: Inputs) -> None:
        """
        A set point over the link.

        Raises:
            Refused: the selector does not point there.

            ValueError: not 0 to 100 %.
        """
        if not 0.0 <= percent <= 100.0:
            raise ValueError("a set point is 0 to 100 %")
        if seen.selector is not Selector.REMOTE:
            raise Refused(f"selector in {seen.selector}")
        self.set_point_pct = percent
        self.restarts.forget()

    def signal_for(self, percent: float) -> float:
        """The command signal that stands for a travel, in the signal's unit."""
        command = self._plan.command
        return command.at_closed + (command.at_open - command.at_closed) * percent / 100.0

    def scan(self, seconds: float, seen: Inputs) -> None:
        """One scan, `seconds` after the one before."""
        self._turn_to(seen)
        self.esd_latched |= not seen.esd_loop
        self._watch_signal(seconds, seen)
        self._command = self._commanded(seen)
        self.target_pct = self._target()
        self._drive(seconds, seen)
        self._run_pump(seconds, seen)
        self._watch(seconds, seen)

    def lose_power(self) -> None:
        """Control supply gone: valve centred, contactor dropped, nothing stored; the latch stays."""
        self.pump_on = False
        self.spool = self._run_s = self._waited_s = 0.0
        self._panel = self.target_pct = None
        self._hold()

    def _hold(self) -> None:
        self._held_at = self._command
        self._panel = None
        self.spool = 0.0

    def _hand_over(self, *, link: bool) -> None:
        self.follows_link = link
        self._held_at = None
        self.restarts.forget()

    def _turn_to(self, seen: Inputs) -> None:
        if seen.selector is not self._selector:
            self._selector = seen.selector
            self._hold()

    def _reset(self, seen: Inputs, *, remote: bool) -> None:
        self.relay.reset(seen, remote=remote)
        if self.esd_latched:
            self._hold()
        self.esd_latched = False

    def _watch_signal(self, seconds: float, seen: Inputs) -> None:
        command = self._plan.command
        low = command.lost_below is not None and seen.command < command.lost_below
        bad = low or (command.unit == "mA" and seen.command > _TOO_HIGH_MA)
        self._signal_bad_s = self._signal_bad_s + seconds if bad else 0.0
        lost = bad and self._signal_bad_s >= command.lost_after_s
        self.relay.show("alarm_signal_lost", active=lost and not self.follows_link)

    def _commanded(self, seen: Inputs) -> float:
        """What the command asks for; a signal that has just gone bad still asks for what it did."""
        if self.follows_link:
            return self.set_point_pct
        return self._command if self._signal_bad_s else percent_of(self._plan.command, seen.command)

    def _target(self) -> float | None:
        if self.tripped:
            return None if self._safe is None else 100.0 * (self._safe is End.OPEN)
        if self._selector is Selector.LOCAL and self._panel is not None:
            return 100.0 if self._panel is End.OPEN else 0.0
        if self._selector is not Selector.REMOTE or "alarm_signal_lost" in self.alarms:
            return None
        if self._held_at is not None:
            if abs(self._command - self._held_at) <= self._dead_band_pct:
                return None
            self._held_at = None
        return self._command

    def _drive(self, seconds: float, seen: Inputs) -> None:
        """Full speed towards the target, after the dead time; let go as it is reached."""
        if self.target_pct is None:
            self.spool = self._waited_s = 0.0
            return
        if self.tripped:
            self.spool = 1.0 if self._safe is End.OPEN else -1.0
            return
        apart_pct = self.target_pct - seen.travel_pct
        ends = self.target_pct in (0.0, 100.0)
        if self.spool:
            ahead_pct = self._plan.speed_pct_s * seconds - self._late_pct
            if apart_pct * self.spool <= ahead_pct and (seen.pushed_home or not ends):
                self.spool = self._waited_s = 0.0
        elif abs(apart_pct) > self._dead_band_pct:
            self._waited_s += seconds
            if self._waited_s >= self._plan.dead_time_s:
                self.spool = 1.0 if apart_pct > 0 else -1.0
        else:
            self._waited_s = 0.0

    def _run_pump(self, seconds: float, seen: Inputs) -> None:
        may = seen.selector is not Selector.OFF and not seen.fluid_low and not seen.oil_cold
        if not may or "alarm_run_time" in self.alarms:
            self.pump_on = False
        elif self.pump_on:
            self.pump_on = seen.system_pa < self._pump.cut_out_bar * _PA_PER_BAR
        elif seen.system_pa <= self._pump.cut_in_bar * _PA_PER_BAR:
            self.pump_on = self.restarts.allow(seen.now_s)
            self.relay.show("alarm_starts", active=not self.pump_on)
        self._run_s = self._run_s + seconds if self.pump_on else 0.0
        if self._run_s > self._settings.run_limit_s:
            self.alarms.add("alarm_run_time")
            self.pump_on = False

    def _watch(self, seconds: float, seen: Inputs) -> None:
        apart = self.target_pct is not None and (
            abs(self.target_pct - seen.travel_pct) > self._settings.deviation_share * 100.0
        )
        self._apart_s = self._apart_s + seconds if apart else 0.0
        self.relay.show("alarm_deviation", active=self._apart_s > self._settings.deviation_s)
        self._since_trip_s = self._since_trip_s + seconds if self.tripped else 0.0
        home = seen.open_limit if self._safe is End.OPEN else seen.closed_limit
        if (
            self._safe is not None
            and self.tripped
            and not home
            and self._since_trip_s > self._settings.travel_timeout_close_s
        ):
            self.alarms.add("alarm_travel")
        low_pressure = seen.system_pa < self._pump.low_alarm_bar * _PA_PER_BAR
        self.relay.show("alarm_low_pressure", active=low_pressure and not self.pump_on)
        self.relay.watch(seconds, seen)
