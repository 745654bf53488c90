"""
The faults themselves: what each changes in a condition or on the line, and what severity 1 stands for.

Each is a row of the trade's own list of faults that a link can see. The physics of what they change is in the machine,
the electrics, the instruments and the line.
"""

from collections.abc import Callable

import msgspec

from commission.practice.condition import Condition
from commission.practice.trouble import Trouble
from commission.sheet import Action, Sheet

Changes = Callable[[Condition, Sheet, float], dict[str, object]]
LineChanges = Callable[[Trouble, float], dict[str, object]]


class Fault(msgspec.Struct, frozen=True, kw_only=True):
    """
    One fault.

    Args:
        name: For the command line.

        words: What it is, and what severity 1 stands for.

        changes: The fields of a condition that it sets, from the condition before, the sheet and the severity.

        line: The fields of a line's trouble that it sets, from the trouble before and the severity.

        on: Whether a unit can have it.
    """

    name: str
    words: str
    changes: Changes = lambda _before, _sheet, _severity: {}
    line: LineChanges = lambda _before, _severity: {}
    on: Callable[[Sheet], bool] = lambda _sheet: True


def _spring(sheet: Sheet) -> bool:
    return sheet.actuator.action is Action.SPRING_RETURN


def _double(sheet: Sheet) -> bool:
    return sheet.actuator.action is Action.DOUBLE_ACTING


def _alternating(sheet: Sheet) -> bool:
    return sheet.supply.phases != "DC"


def _three_phase(sheet: Sheet) -> bool:
    return sheet.supply.phases == "three-phase"


def _linked(sheet: Sheet) -> bool:
    return sheet.linked


def _direct(sheet: Sheet) -> bool:
    return sheet.supply.phases == "DC"


def precharge_bar(before: Condition, sheet: Sheet) -> float:
    """The precharge as found so far, at the sheet's temperature; 0 without an accumulator."""
    if before.precharge_bar is not None:
        return before.precharge_bar
    return 0.0 if sheet.accumulator is None else sheet.accumulator.precharge_bar


def efficiency(before: Condition, sheet: Sheet) -> float:
    """The pump's volumetric efficiency as found so far."""
    found = before.volumetric_efficiency
    return sheet.pump.volumetric_efficiency if found is None else found


def _needle(before: Condition, sheet: Sheet, severity: float) -> dict[str, object]:
    left = 1.0 - 0.9 * severity
    if _spring(sheet):
        return {"orifice_factor": before.orifice_factor * left}
    return {"closing_flow_factor": before.closing_flow_factor * left}


def _supply(before: Condition, sheet: Sheet, severity: float) -> dict[str, object]:
    left = 1.0 - 0.4 * severity
    if _alternating(sheet):
        return {"supply_factor": before.supply_factor * left}
    return {"battery_v": before.battery_v * left}


def _wrong_range(before: Condition, sheet: Sheet, severity: float) -> dict[str, object]:
    del before, sheet
    return {"feedback_ma_at": tuple(20.0 * share - (share - 1.0) * 4.0 * (1.0 - severity) for share in _FIFTHS)}


_FIFTHS = (0.0, 0.25, 0.5, 0.75, 1.0)


def _times(field: str, at_one: float, words: str, name: str, on: Callable[[Sheet], bool] = lambda _s: True) -> Fault:
    """A fault that multiplies a factor, by `at_one` at severity 1."""

    def changes(before: Condition, _sheet: Sheet, severity: float) -> dict[str, object]:
        return {field: getattr(before, field) * (1.0 + (at_one - 1.0) * severity)}

    return Fault(name=name, words=words, changes=changes, on=on)


def _plus(field: str, at_one: float, words: str, name: str, on: Callable[[Sheet], bool] = lambda _s: True) -> Fault:
    """A fault that adds to a field, `at_one` at severity 1."""

    def changes(before: Condition, _sheet: Sheet, severity: float) -> dict[str, object]:
        return {field: getattr(before, field) + at_one * severity}

    return Fault(name=name, words=words, changes=changes, on=on)


def _is(field: str, words: str, name: str, on: Callable[[Sheet], bool] = lambda _s: True) -> Fault:
    """A fault that is there or is not; any severity above 0 is there."""
    return Fault(name=name, words=words, changes=lambda _b, _s, severity: {field: severity > 0.0}, on=on)


TABLE = (
    _plus("free_air_ml", 190.0, "air in the oil; 1 is 190 mL more than usual", "air-in-oil"),
    Fault(name="low-fluid", words="oil missing from the tank; 1 is all of it",
          changes=lambda b, s, v: {"oil_missing_l": b.oil_missing_l + v * s.tank.fill_l}),
    Fault(name="worn-pump", words="the pump slips; 1 is an efficiency of 0.44 less",
          changes=lambda b, s, v: {"volumetric_efficiency": efficiency(b, s) - 0.44 * v}),
    _plus("suction_share", 0.9, "suction blocked; 1 takes nine tenths of the flow at 20 °C", "suction-blocked"),
    Fault(name="relief-low", words="relief set low; 1 is half its setting",
          changes=lambda b, s, v: {"relief_bar": (b.relief_bar or s.pump.relief_bar) * (1.0 - 0.5 * v)}),
    _plus("relief_leak_ml_min", 1000.0, "relief leaks; 1 is 1 L a minute at rated pressure", "relief-leaking"),
    _plus("check_leak_ml_h", 2000.0, "check valve leaks back; 1 is 2 L an hour", "check-valve-leaking"),
    _plus("seal_leak_ml_h", 20_000.0, "piston seal leaks; 1 is 20 L an hour", "piston-seal-leaking", _double),
    _plus("dump_leak_ml_h", 2000.0, "dump valve leaks; 1 is 2 L an hour", "dump-leaking", _spring),
    _plus("external_leak_ml_h", 2000.0, "oil leaks out of the unit; 1 is 2 L an hour", "external-leak"),
    _times("friction_factor", 2.5, "packing too tight; 1 is 2.5 times the friction", "tight-packing"),
    _times("gall_factor", 4.0, "galled at mid-travel; 1 is four times the friction there", "galled-valve"),
    _times("breakaway_factor", 8.0, "sticks at its end, then leaps; 1 is eight times the friction", "stuck-valve",
           _spring),
    _plus("stiction_share", 1.0, "stick-slip; 1 is twice the friction to begin a motion", "stick-slip"),
    Fault(name="more-difference", words="pressure difference; 1 is five times the design's",
          changes=lambda b, s, v: {
              "difference_bar": b.difference_bar + 5.0 * v * (s.valve.design_difference_bar or 0.0)}),
    Fault(name="cold-oil", words="cold; 1 is the coldest of the sheet",
          changes=lambda b, s, v: {"oil_c": b.oil_c + v * (s.environment.coldest_c - b.oil_c)}),
    _times("viscosity_factor", 20.0, "wrong oil; 1 is twenty times as thick", "wrong-oil"),
    Fault(name="needle-closed", words="needle nearly closed, one way; 1 leaves a tenth of its area", changes=_needle),
    _plus("return_back_pressure_bar", 20.0, "return line clogged; 1 is 20 bar", "return-clogged"),
    _plus("closed_limit_early_pct", 10.0, "closed limit makes early; 1 is by 10 %", "limit-early"),
    _is("closed_limit_chatters", "closed limit loose", "limit-loose"),
    _plus("sensor_noise_pct", 2.0, "position sensor noisy; 1 is 2 %", "sensor-noise"),
    _plus("sensor_offset_pct", 8.0, "position sensor slipped; 1 is by 8 %", "sensor-slipped"),
    Fault(name="sensor-worn", words="position sensor's track worn through at 40 %",
          changes=lambda _b, _s, v: {"sensor_worn_at_pct": 40.0 if v > 0 else None}),
    _times("spring_factor", 0.5, "weak spring; 1 is half its force", "weak-spring", _spring),
    Fault(name="low-supply", words="low supply; 1 is four tenths less", changes=_supply),
    _times("cable_factor", 8.0, "cable too thin; 1 is eight times its resistance", "thin-cable"),
    _is("phases_reversed", "rotation reversed: the pump turns backwards", "rotation-reversed", _three_phase),
    _is("phase_lost", "one phase is dead", "phase-lost", _three_phase),
    Fault(name="precharge-low", words="nitrogen lost; 1 is all of it",
          changes=lambda b, s, v: {"precharge_bar": precharge_bar(b, s) * (1.0 - v)}),
    Fault(name="precharge-high", words="too much nitrogen; 1 is up to cut-out",
          changes=lambda b, s, v: {
              "precharge_bar": precharge_bar(b, s) + v * (s.pump.cut_out_bar - precharge_bar(b, s))}),
    Fault(name="switch-above-relief", words="cut-out set above the relief; 1 is by 20 bar",
          changes=lambda _b, s, v: {"cut_out_bar": s.pump.relief_bar + 20.0 * v} if v > 0 else {}),
    _plus("dump_delay_s", 5.0, "dump or emergency valve slow; 1 is by 5 s", "slow-solenoid"),
    _plus("water_share", 1.0, "water in the oil: below 0 °C the dump or emergency valve freezes, each time otherwise; "
          "1 holds it for up to 20 s at -10 °C, or for good", "water-in-oil"),
    _is("dump_stuck", "dump or emergency valve is not let go of: holds on ESD", "solenoid-held"),
    _plus("bypass_mm2", 1.0, "manual bypass left open; 1 is 1 mm²", "bypass-open"),
    _plus("lost_motion_pct", 3.0, "play in the coupling; 1 is 3 %", "lost-motion"),
    _is("stem_sheared", "key or stem through: the valve stands still", "stem-sheared"),
    _is("contactor_welded", "motor contactor welded", "contactor-welded"),
    _plus("battery_ohm", 0.15, "battery aged; 1 is 0.15 Ω more", "battery-aged", _direct),
    _plus("sun_c", 20.0, "sun on the trapped oil; 1 is 20 °C at noon", "sun-on-oil"),
    Fault(name="hunting", words="dead band too small and let go of too late",
          changes=lambda _b, s, v: {
              "overshoots": v > 0.0,
              "dead_band_pct": None if s.modulating is None else s.modulating.dead_band_pct * (1.0 - 0.9 * v)},
          on=lambda sheet: sheet.modulating is not None),
    _is("directions_swapped", "open and close swapped at the outputs", "open-close-swapped"),
    Fault(name="feedback-reversed", words="feedback reversed: 20 mA is closed",
          changes=lambda _b, _s, v: {"feedback_ma_at": (20.0, 12.0, 4.0)} if v > 0 else {}),
    Fault(name="wrong-range", words="feedback over 0 to 20 mA", changes=_wrong_range),
    _plus("ground_loop_ma", 0.8, "ground loop; 1 lifts the feedback by 0.8 mA while the motor runs", "ground-loop"),
    _is("alarm_contact_inverted", "alarm contact closed when dead: silent without power", "alarm-contact"),
    _is("words_swapped", "32-bit values come with their words in another order than the sheet's", "word-order"),
    _is("shifted", "the register list is off by one", "off-by-one"),
    _is("decimal_slipped", "whole numbers come ten times too large", "wrong-scale"),
    Fault(name="duplicate-address", words="another unit has the same address; 1 is a third of the answers from it, "
          "a third where both collide", on=_linked, line=lambda b, v: {"duplicate": min(1.0, b.duplicate + v)}),
    Fault(name="no-termination", words="noise on the line; 1 damages every fifth answer", on=_linked,
          line=lambda b, v: {"garbage": min(1.0, b.garbage + 0.2 * v)}),
)  # fmt: skip
