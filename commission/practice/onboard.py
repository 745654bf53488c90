"""
The control unit of a spring-return unit: what it was told, what it may do, what it protects itself from.

It runs once a scan. It is told for a valve that oil opens and the spring closes; `mirror` turns it round for one that
oil closes.

Rules, in the order they win.
 1. ESD loop open or a latched pressure trip: dump valve open, pump off, opening refused, whatever the selector says.
 2. A latched ESD needs its loop healthy and then a reset; a pressure trip needs the monitor's reset at the unit.
    Neither reset moves the valve.
 3. STOP is taken from link and panel in every selector position; it never stops a trip.
 4. Other commands are taken from where the selector points, else refused: nothing is kept for later. Leaving that
    position stops an opening; a closing runs on to its end; a partial stroke is brought back (LOCAL) or stopped (OFF).
 5. OPEN runs the pump to cut-out; open, a fall to cut-in tops up. CLOSE opens the dump valve until the closed limit
    has been made for two seconds. Returning power commands nothing and leaves a closing alone.
 6. The pump does not run: low fluid or oil too cold (returns by itself), after a run over its limit (until reset), too
    many restarts (until the window allows), end of travel not reached (until a new command or reset), selector OFF. An
    opening that a limit ended stays stopped, so that a reset moves nothing.
 7. The alarm relay is energised when healthy: any alarm, a trip, or the link silent for its time drops it.
"""

from commission.practice.monitor import PressureMonitor
from commission.practice.orders import Inputs, Order, Refused, Relay, Selector, Wanted, demand_place
from commission.practice.partial import PartialStroke, Phase
from commission.practice.settings import Settings
from commission.practice.starts import RestartLimit
from commission.sheet import Sheet

_PA_PER_BAR = 1e5
_HOME_S = 2.0
_EMPTY_PA = 1e5


class Onboard:
    """
    The logic of one unit.

    Args:
        sheet: Switch settings and the partial stroke.

        settings: The protections' settings.
    """

    def __init__(self, sheet: Sheet, settings: Settings) -> None:
        self._pump = sheet.pump
        self._settings = settings
        self.monitor = PressureMonitor(settings)
        self.restarts = RestartLimit(settings)
        self.partial = PartialStroke(sheet, settings)
        self.wanted = Wanted.CLOSED
        self.esd_latched = False
        self.relay = Relay(sheet)
        self.alarms = self.relay.alarms
        self.pump_on = False
        self.dump_open = False
        self.spool = 0.0
        self._obeying = False
        self._since_order_s = 0.0
        self._run_s = 0.0
        self._home_s = 0.0
        self._selector = Selector.REMOTE

    @property
    def tripped(self) -> bool:
        """Whether the ESD or a pressure trip has the valve."""
        return self.esd_latched or self.monitor.latched

    @property
    def bleed_open(self) -> bool:
        """Whether the partial stroke's bleed is open."""
        return self.partial.phase is Phase.OUT

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
        if order is Order.STOP:
            self._stop()
            return
        self._follow_selector(seen)  # it may have been turned since the last scan
        if order is Order.RESET:
            self._reset(seen, remote=remote)
            return
        demand_place(seen, remote=remote)
        if order is Order.CLOSE:
            self._begin(Wanted.CLOSED)
            return
        if self.tripped:
            raise Refused("tripped: reset first")
        if order is Order.OPEN:
            self._begin(Wanted.OPEN)
        elif order is Order.PARTIAL_STROKE:
            self._start_partial(seen)
        else:
            raise Refused("this unit does not follow a set point")

    def scan(self, seconds: float, seen: Inputs) -> None:
        """One scan, `seconds` after the one before."""
        self._trips(seconds, seen)
        self._follow_selector(seen)
        self._since_order_s += seconds
        if self.partial.scan(seconds, seen.travel_pct):
            self.alarms.add("alarm_travel")
        self._run_dump(seconds, seen)
        self._run_pump(seconds, seen)
        self._watch_travel(seen)
        self._condition_alarms(seconds, seen)

    def lose_power(self) -> None:
        """Control supply gone: coils and contactor drop, timers and what was wanted are forgotten; latches stay."""
        self.pump_on = False
        self.dump_open = True
        self.partial.end()
        self.wanted = Wanted.CLOSED
        self._obeying = False
        self._home_s = self._run_s = self._since_order_s = 0.0

    def _begin(self, wanted: Wanted) -> None:
        changes = wanted is not self.wanted or self.partial.phase is not Phase.NONE
        if changes:
            self.restarts.forget()
        if changes or "alarm_travel" in self.alarms:
            self._since_order_s = 0.0
        self.partial.end()
        self.alarms.discard("alarm_travel")
        self.wanted = wanted
        self._obeying = wanted is Wanted.OPEN
        if wanted is Wanted.CLOSED:
            self.pump_on, self.dump_open = False, True
            self._home_s = 0.0

    def _stop(self) -> None:
        if self.tripped:
            return
        self.partial.end()
        self.wanted = Wanted.STOPPED
        self.pump_on = self.dump_open = self._obeying = False

    def _reset(self, seen: Inputs, *, remote: bool) -> None:
        if self.monitor.latched:
            if remote:
                raise Refused("pressure trip: reset at the unit only")
            if not self.monitor.reset_locally(seen.pipeline_pa):
                raise Refused("pressure still beyond the trip point")
        self.relay.reset(seen, remote=remote)
        self.esd_latched = False

    def _start_partial(self, seen: Inputs) -> None:
        if not self.partial.offered:
            raise Refused("no partial stroke on this unit")
        if self.wanted is not Wanted.OPEN or not seen.open_limit:
            raise Refused("valve not open")
        if self.pump_on or self.partial.phase is not Phase.NONE:
            raise Refused("pump running")
        if self.alarms:
            raise Refused("an alarm is active")
        self.restarts.forget()
        self.partial.start()
        self._since_order_s = 0.0

    def _trips(self, seconds: float, seen: Inputs) -> None:
        self.monitor.scan(seconds, seen.pipeline_pa)
        self.esd_latched |= not seen.esd_loop
        if self.tripped and self.wanted is not Wanted.CLOSED:
            self._begin(Wanted.CLOSED)
        for role, active in (
            ("alarm_high_trip", self.monitor.high_latched),
            ("alarm_low_trip", self.monitor.low_latched),
        ):
            self.relay.show(role, active=active)

    def _follow_selector(self, seen: Inputs) -> None:
        if seen.selector is self._selector:
            return
        self._selector = seen.selector
        if self.partial.phase is not Phase.NONE and seen.selector is Selector.OFF:
            self._stop()
        elif self.partial.phase is not Phase.NONE:
            self.partial.turn_back()
        elif self.wanted is Wanted.OPEN and not seen.open_limit:
            self._stop()

    def _run_dump(self, seconds: float, seen: Inputs) -> None:
        if self.wanted is not Wanted.CLOSED:
            self.dump_open = False
            return
        home = seen.closed_limit and seen.pressure_pa < _EMPTY_PA
        self._home_s = self._home_s + seconds if home else 0.0
        if self.tripped:
            self.dump_open = True
        elif self._home_s >= _HOME_S:
            self.dump_open = False

    def _run_pump(self, seconds: float, seen: Inputs) -> None:
        if self.bleed_open:
            self._obeying = True
            self.pump_on = False
        elif self.wanted is not Wanted.OPEN or not self._may_run(seen):
            self.pump_on = False
        elif self.pump_on:
            self._run_on(seen)
        elif self._obeying or seen.pressure_pa <= self._pump.cut_in_bar * _PA_PER_BAR:
            self._start(seen)
        self._run_s = self._run_s + seconds if self.pump_on else 0.0
        if self._run_s > self._settings.run_limit_s:
            self.alarms.add("alarm_run_time")
            self._give_up(seen)

    def _may_run(self, seen: Inputs) -> bool:
        blocked = {"alarm_run_time", "alarm_travel"} & self.alarms if self.partial.phase is Phase.NONE else set()
        return not (blocked or seen.fluid_low or seen.oil_cold) and seen.selector is not Selector.OFF

    def _run_on(self, seen: Inputs) -> None:
        if seen.pressure_pa >= self._pump.cut_out_bar * _PA_PER_BAR:
            self.pump_on = False
            self.partial.end()

    def _start(self, seen: Inputs) -> None:
        if seen.pressure_pa >= self._pump.cut_out_bar * _PA_PER_BAR:
            self._obeying = False
            return
        if not self._obeying and not self.restarts.allow(seen.now_s):
            self.alarms.add("alarm_starts")
            return
        self._obeying = False
        self.pump_on = True

    def _watch_travel(self, seen: Inputs) -> None:
        if self.wanted is Wanted.OPEN:
            late = not seen.open_limit and self._since_order_s > self._settings.pressing_timeout_s
        else:
            closing = self.wanted is Wanted.CLOSED and not seen.closed_limit
            late = closing and self._since_order_s > self._settings.yielding_timeout_s
        if late:
            self.alarms.add("alarm_travel")
            self._give_up(seen)

    def _give_up(self, seen: Inputs) -> None:
        """An opening ends here for good; otherwise a reset would set the valve moving again."""
        self.pump_on = False
        if self.wanted is Wanted.OPEN and not seen.open_limit:
            self._stop()

    def _condition_alarms(self, seconds: float, seen: Inputs) -> None:
        holding = self.wanted is Wanted.OPEN and self.partial.phase is Phase.NONE and seen.open_limit
        low_pressure = seen.pressure_pa < self._pump.low_alarm_bar * _PA_PER_BAR
        self.relay.show("alarm_low_pressure", active=holding and low_pressure and not self.pump_on)
        self.relay.watch(seconds, seen)
