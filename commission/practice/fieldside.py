"""Positions of everything that people beside the unit can turn, lock, press or open."""

import msgspec

from commission.practice.condition import Condition
from commission.practice.orders import Selector

_OPEN_LOOP_BAR, _SHORTED_BAR = -25.0, 112.5
"""0 and 22 mA on a transmitter of 0 to 100 bar."""


class FieldSide(msgspec.Struct, kw_only=True):
    """
    How the site stands now. `False` for an isolator is off and locked; pressures are gauge pressures in bar.

    `bleeds` are open by this share, 0 shut and 1 open. `sensing_target_bar` is what the hand test pump, or the vent,
    makes of the monitor's sensing line while its root valve is shut. A blocked dump is held shut by a screw cap: no oil
    leaves by it, whatever the control unit wants. `monitor_loop` is the loop of the monitor's transmitter: whole, open
    or shorted.
    """

    motor_isolator: bool = True
    heater_isolator: bool = True
    control_supply: bool = True
    loop_24v: bool = True
    battery_isolator: bool = True
    array_isolator: bool = True
    accumulator_valve: bool = True
    root_valve: bool = True
    bleeds: dict[str, float]
    esd_button_pressed: bool = False
    control_room_esd: bool = False
    selector: Selector = Selector.REMOTE
    dump_blocked: bool = False
    hand_lever_stowed: bool = True
    hand_pump_to_bar: float = 0.0
    float_lifted: bool = False
    drawn_off_l: float = 0.0
    ambient_c: float
    pipeline_bar: float
    sensing_bar: float
    sensing_target_bar: float | None = None
    sensing_rate_bar_s: float = 0.0
    sensing_back_bar: float = 0.0
    sensing_back_s: float = 0.0
    monitor_loop: str = "whole"
    monitor_off_bar: float = 0.0
    alarm_wire_cut: bool = False
    command_signal: float = 0.0
    link_cut: bool = False

    @property
    def control_on(self) -> bool:
        """Whether the control unit is alive."""
        return self.control_supply and (self.battery_isolator or self.array_isolator)

    @property
    def motor_on(self) -> bool:
        """Whether the motor turns when its contactor closes."""
        return self.motor_isolator and self.battery_isolator

    @property
    def esd_loop(self) -> bool:
        """Whether the ESD loop carries current."""
        return self.loop_24v and not self.esd_button_pressed and not self.control_room_esd

    @property
    def command_now(self) -> float:
        """The command signal at the unit's terminals, in mA or V; none without the control room's 24 V."""
        return self.command_signal if self.loop_24v else 0.0

    @property
    def monitored_bar(self) -> float:
        """What the monitor takes the pressure for: a broken loop is far below its range, a shorted one above."""
        if self.monitor_loop == "open":
            return _OPEN_LOOP_BAR
        return _SHORTED_BAR if self.monitor_loop == "shorted" else self.sensing_bar + self.monitor_off_bar

    def step(self, seconds: float) -> None:
        """Let the sensing line follow the pipeline, or the test pump, for `seconds`."""
        if self.root_valve:
            self.sensing_bar = self.pipeline_bar
            return
        if self.sensing_back_s > 0.0:
            self.sensing_back_s -= seconds
            if self.sensing_back_s <= 0.0:
                self.sensing_target_bar, self.sensing_rate_bar_s = self.sensing_back_bar, 0.0
        target = self.sensing_target_bar
        if target is None:
            return
        most = self.sensing_rate_bar_s * seconds if self.sensing_rate_bar_s > 0 else float("inf")
        self.sensing_bar += max(-most, min(most, target - self.sensing_bar))


def field_side(bleeds: list[str], condition: Condition) -> FieldSide:
    """Everything in its working position: valves as run, bleeds shut, selector in REMOTE."""
    return FieldSide(
        bleeds=dict.fromkeys(bleeds, 0.0),
        ambient_c=condition.oil_c,
        pipeline_bar=condition.pipeline_bar,
        sensing_bar=condition.pipeline_bar,
        monitor_off_bar=condition.monitor_off_bar,
    )
