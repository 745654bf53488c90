"""
The people beside the unit, as one object: `act` does a thing, `read` looks at one.

`control_port` offers it to another process. Acts take effect at the unit's next scan.
"""

import math
from collections.abc import Callable
from contextlib import suppress
from typing import Any

import msgspec
from msgspec.structs import replace

from commission.practice.acts import ACTS, LET_TIME_PASS, Act, NotDone, Value, perform, seconds_of
from commission.practice.mechanism import PA_PER_BAR
from commission.practice.unit import PracticeUnit
from commission.sheet import End

READS = {
    "gauges": "bar by gauge, as PG-1, read to half a bar",
    "precharge": "nitrogen pressure by the charging kit, bar",
    "stem": "stem mark, degrees or mm from closed",
    "mark": "which end the stem mark stands at: closed, open, or between",
    "level": "sight glass of the tank, litres",
    "panel": "lamps at the unit: selector, power, alarm, ESD, pressure trip",
    "control_room": "what the controller sees: alarm contact, feedback mA, limits",
    "meter": "a meter on the 24 V terminals of the control unit, volts to 0.01",
    "volts": "a meter on the feedback terminals of a unit that is commanded by voltage, volts to 0.01",
    "recorder": "an independent recorder at the stem, seconds: cause (control supply or ESD loop gone), left, home",
    "alarm_age": "seconds since the alarm relay last changed, as the control room's event log has it",
    "alarm_volts": "a meter on the alarm contact's loop, volts to 0.1: 24 is healthy",
    "clamp": "a clamp meter on the feedback loop, mA to 0.01",
    "line_gauge": "an independent gauge on the monitor's sensing line, bar to 0.1",
    "rotation": "a rotation tester at the isolator of a three-phase motor: as marked, or reversed",
    "heater_w": "a clamp on the heater's lead, watts, with cooling spray on its thermostat",
    "thermometer": "a thermometer in the oil, degrees Celsius to 0.1",
    "positions": "how everything on site stands",
    "acts": "this list of acts",
    "truth": "the true state, for tests only",
}
"""Everything that can be looked at."""


_GAUGE_STEP_BAR = 0.5
JOG = "jog"
JOGS: dict[str, tuple[str, ...]] = {
    "open": ("local_open",),
    "close": ("local_close",),
    "remote open": ("other_master_orders", "open"),
    "remote close": ("other_master_orders", "close"),
}
"""What sets the valve going; STOP at the panel ends it. For people played by a file: whoever practises presses both."""

_LOOP_OPEN, _LOOP_CLOSE = "loop open", "loop close"
_AT_END_PCT = 2.0
_ALARM_LOOP_V = 24.0


class SiteDesk:
    """
    The people on site.

    Args:
        unit: The unit they stand beside.

        catch_up: Brings the unit to the present before anybody looks or acts.

        skip: Lets the unit's time jump forward by so many seconds.
    """

    def __init__(
        self,
        unit: PracticeUnit,
        catch_up: Callable[[], None] = lambda: None,
        skip: Callable[[float], None] = lambda _seconds: None,
    ) -> None:
        self.unit = unit
        self._catch_up = catch_up
        self._skip = skip
        self._later: list[tuple[float, Act]] = []

    def act(self, name: str, value: Value = None, *, which: str = "", rate_bar_s: float = 0.0) -> None:
        """
        Do one thing; `acts.ACTS` lists them.

        Raises:
            NotDone: there is no such act, it does not take this value, or it is not possible now.
        """
        self.perform(Act(name=name, value=value, which=which, rate_bar_s=rate_bar_s))

    def perform(self, act: Act) -> None:
        """
        Do one thing.

        Raises:
            NotDone: as for `act`.
        """
        self._catch_up()
        if act.name == JOG:
            self._jog(act)
            return
        if act.name == LET_TIME_PASS:
            self._let_pass(seconds_of(act))
        elif act.in_s > 0.0:
            self._later.append((self.unit.now_s + act.in_s, replace(act, in_s=0.0)))
        else:
            perform(self.unit, act)

    def live(self) -> None:
        """Do what somebody said they would do by now; what is not possible then is not done."""
        due = sorted((item for item in self._later if item[0] <= self.unit.now_s), key=lambda item: item[0])
        self._later = [item for item in self._later if item[0] > self.unit.now_s]
        for _, act in due:
            with suppress(NotDone):
                perform(self.unit, act)

    def _let_pass(self, seconds: float) -> None:
        """Stop at each act that somebody promised meanwhile: it is done in its own time, not once the time is over."""
        scan_s = self.unit.sheet.link.scan_s
        due_s = sorted(at_s - self.unit.now_s + scan_s for at_s, _ in self._later)
        passed_s = 0.0
        for until_s in (*(at_s for at_s in due_s if 0.0 < at_s < seconds), seconds):
            self._skip(until_s - passed_s)
            self._catch_up()
            self.live()
            passed_s = until_s

    def _jog(self, act: Act) -> None:
        """Button, time, STOP, in one go: however busy the machine is, it runs as long as it should."""
        perform(self.unit, _sets_going(self.unit, act.which))
        self._skip(seconds_of(act))
        self._catch_up()
        perform(self.unit, Act(name="local_stop"))

    def read(self, name: str) -> Any:
        """
        Look at one thing; `READS` lists them. What comes back is plain data.

        Raises:
            NotDone: there is nothing of that name to look at.
        """
        self._catch_up()
        if name not in _LOOKS:
            raise NotDone(f"nothing called {name!r} to look at; known: {', '.join(READS)}")
        return msgspec.to_builtins(_LOOKS[name](self.unit))


def _sets_going(unit: PracticeUnit, which: str) -> Act:
    """By button or bus; `loop open` and `loop close` by the whole signal of a modulating unit's command."""
    plan = unit.sheet.modulating
    if plan is not None and which in (
        signals := {"loop open": plan.command.at_open, "loop close": plan.command.at_closed}
    ):
        return Act(name="command_signal", value=signals[which])
    if which not in JOGS:
        raise NotDone(f"jog: which {which!r}, expected one of {', '.join(JOGS)}")
    first, *orders = JOGS[which]
    return Act(name=first, which=orders[0] if orders else "")


def _gauges(unit: PracticeUnit) -> dict[str, float]:
    oil = unit.hydraulics
    pressures_pa = {
        "cylinder": oil.pressure_pa,
        "cylinder-b": oil.pressure_b_pa,
        "accumulator-oil": oil.accumulator_pa,
        "hand-pump": oil.hand_pa,
    }
    return {
        volume.gauge: math.floor(pressures_pa[volume.id] / PA_PER_BAR / _GAUGE_STEP_BAR + 0.5) * _GAUGE_STEP_BAR
        for volume in unit.sheet.volumes
        if volume.gauge and volume.id in pressures_pa
    }


def _panel(unit: PracticeUnit) -> dict[str, object]:
    board, on = unit.onboard, unit.side.control_on
    return {
        "power": on,
        "selector": unit.side.selector,
        "alarm": on and not board.healthy,
        "esd_tripped": on and board.esd_latched,
        "pressure_trip": on and board.monitor.latched,
        "pump_running": on and board.pump_on,
    }


def _control_room(unit: PracticeUnit) -> dict[str, object]:
    alive = unit.side.control_on and unit.side.loop_24v
    return {
        "alarm_contact_closed": _alarm_contact(unit, alive=alive) and not unit.side.alarm_wire_cut,
        "feedback_ma": round(unit.readings()["feedback_current"] * 1000, 3) if alive else 0.0,
        "open_limit": alive and unit.limits.open_made,
        "closed_limit": alive and unit.limits.closed_made,
    }


def _alarm_contact(unit: PracticeUnit, *, alive: bool) -> bool:
    """Closed is healthy; on the wrong contact of a relay that is turned round, so is a dead unit."""
    if unit.condition.alarm_contact_inverted:
        return unit.side.loop_24v and (not unit.side.control_on or unit.onboard.healthy)
    return alive and unit.onboard.healthy


def _mark(unit: PracticeUnit) -> str:
    near = {End.CLOSED.value: unit.stem_pct, End.OPEN.value: 100.0 - unit.stem_pct}
    return next((end for end, apart_pct in near.items() if apart_pct < _AT_END_PCT), "between")


def _heater_w(unit: PracticeUnit) -> float:
    fed = unit.side.heater_isolator and not unit.climate.heater_dead
    return (unit.sheet.environment.heater_w or 0.0) if fed else 0.0


def _alarm_volts(unit: PracticeUnit) -> float:
    alive = unit.side.control_on and unit.side.loop_24v
    closed = _alarm_contact(unit, alive=alive) and not unit.side.alarm_wire_cut
    return _ALARM_LOOP_V if closed and unit.side.loop_24v else 0.0


def _feedback_v(unit: PracticeUnit) -> float:
    plan = unit.sheet.modulating
    if plan is None or plan.feedback.unit != "V" or not unit.side.control_on:
        return 0.0
    span_v = plan.feedback.at_open - plan.feedback.at_closed
    return plan.feedback.at_closed + span_v * unit.sensed_pct / 100.0


def _meter(unit: PracticeUnit) -> float:
    return round(unit.electrics.supply_v, 2) if unit.side.control_on else 0.0


_LOOKS: dict[str, Callable[[PracticeUnit], object]] = {
    "gauges": _gauges,
    "precharge": lambda unit: round(unit.hydraulics.precharge_pa / PA_PER_BAR, 1),
    "stem": lambda unit: round(unit.stem_pct / 100 * unit.sheet.valve.full_travel, 1),
    "mark": _mark,
    "level": lambda unit: round(unit.hydraulics.tank_m3 * 1000, 2),
    "panel": _panel,
    "control_room": _control_room,
    "meter": _meter,
    "volts": lambda unit: round(_feedback_v(unit), 2),
    "recorder": lambda unit: unit.recorder.shown,
    "alarm_age": lambda unit: round(unit.now_s - unit.relay_changed_s, 3),
    "alarm_volts": _alarm_volts,
    "clamp": lambda unit: round(unit.readings()["feedback_current"] * 1000, 2),
    "line_gauge": lambda unit: round(unit.side.sensing_bar, 1),
    "rotation": lambda unit: "reversed" if unit.electrics.phases_reversed else "as marked",
    "heater_w": _heater_w,
    "thermometer": lambda unit: round(unit.climate.oil_c, 1),
    "positions": lambda unit: unit.side,
    "acts": lambda _unit: ACTS,
    "truth": lambda unit: unit.truth(),
}
