"""
From what is stored to what is printed: the only place that changes a unit for the reader.

Figures are stored and judged as decimal text in SI units. The units of the trade differ from them by powers of ten
(bar, %, mA) or by nothing, so the decimal point moves and no digit changes: what is printed is what was judged.
"""

import re
from datetime import datetime
from decimal import Decimal, InvalidOperation

import msgspec

from commission import quantity
from commission.figure import Figure

_PRINTED = {"Pa": "bar", "1": "%", "degC": "°C", "1/s": "%/s", "1/h": "%/h", "1/K": "%/K", "N": "kN", "m³/h": "mL/h"}
_LOOP_WORDS = ("feedback", "command", "loop", "signal")
_COUNT_ENDS = ("_count", "starts", "_total", "_number", "_ratio")

_AT_POINT = re.compile(
    r"(?P<what>error|loop_current|stem)_(?P<way>up|down)_(?P<point>[\d.]+)_pct(?:_cycle_(?P<cycle>\d+))?"
)

_NAMES = {
    "zero_error": "zero error",
    "span_error": "span error",
    "inaccuracy_high": "inaccuracy, most above",
    "inaccuracy_low": "inaccuracy, most below",
    "hysteresis": "hysteresis (averages)",
    "hysteresis_in_cycle": "hysteresis and dead band, in a cycle",
    "linearity_independent": "linearity, independent",
    "linearity_zero_based": "linearity, zero-based",
    "linearity_terminal": "linearity, terminal-based",
    "loop_trim_closed": "suggested trim at closed",
    "loop_trim_open": "suggested trim at open",
    "left_after_trim": "left after that trim",
    "loop_register_less_meter": "unit's register less meter, most",
    "largest_error_so_far": "largest error so far",
    "response_time": "response time",
    "response_time_outside": "timed outside the link",
    "moved_while_held": "moved while held",
    "sensor_slope_ratio": "slope of the sensor over the stem",
    "lost_motion": "lost motion, stem against sensor",
    "alarm_delay": "loss of signal to its alarm",
    "traverse_time": "traverse time",
    "motion_time": "motion time",
    "dead_time": "dead time",
    "pressure_dead_time": "command to pressure change",
    "load_dead_time": "pressure change to first motion",
    "motor_run_per_travel": "motor run for full travel",
    "breakaway_pressure": "breakaway pressure",
    "running_pressure_25_pct": "pressure at 25 % travel",
    "running_pressure_50_pct": "pressure at half travel",
    "running_pressure_75_pct": "pressure at 75 % travel",
    "speed_at_half_travel": "speed at half travel",
    "end_to_middle_speed_ratio": "speed at the end over that in the middle",
    "stick_slip": "stick-slip index",
    "friction_25_pct": "friction at 25 % travel",
    "friction_50_pct": "friction at half travel",
    "friction_75_pct": "friction at 75 % travel",
    "valve_load_25_pct": "valve load at 25 % travel",
    "valve_load_50_pct": "valve load at half travel",
    "valve_load_75_pct": "valve load at 75 % travel",
    "spring_force_25_pct": "spring force at 25 % travel",
    "spring_force_50_pct": "spring force at half travel",
    "spring_force_75_pct": "spring force at 75 % travel",
    "opening_to_closing_ratio": "opening time over closing time",
    "motor_run": "motor run",
    "pressure_steady_after": "pressure steady after",
    "pressure_at_start": "pressure at first motion",
    "pressure_at_end": "pressure at end of motion",
    "pressure_max": "largest pressure",
    "current_max": "largest motor current",
    "final_travel": "final travel",
    "breakaway_load_opening": "valve load at breakaway, opening",
    "breakaway_load_closing": "valve load at breakaway, closing",
    "volumetric_efficiency": "volumetric efficiency of the pump",
    "charge_drawn": "charge drawn",
    "insulation_at_40_c": "insulation at 40 °C",
    "voltage_unbalance": "unbalance of the three voltages",
    "source_resistance": "resistance of supply and cable",
    "travel_change_held": "change of travel while left alone",
    "pressure_change_held": "change of pressure while left alone",
    "hold_drift": "drift of travel",
    "travel_per_kelvin": "travel per kelvin of the oil",
    "turns_count": "turns of travel",
    "hunting_amplitude": "hunting, peak to peak",
    "hunting_period": "hunting, period",
    "restarts_count": "motor starts while left alone",
    "starts_per_hour": "motor starts an hour",
    "starts_in_window_count": "starts seen in the unit's window",
    "leak_rate": "leak",
    "oil_temperature": "oil temperature",
    "supply_before_start": "supply before the start",
    "supply_lowest_at_start": "supply, lowest at the start",
    "supply_running": "supply while running",
    "supply_dip": "dip of the supply at the start",
    "time_to_target": "time from first motion to target",
    "breakaway_delay": "pressure to first motion",
    "friction_pressure": "friction, as pressure",
    "spring_pressure": "spring, as pressure",
    "turning_point": "turning point",
    "protection_time": "cause to alarm",
    "restarts": "starts before the refused one",
    "found_trip_point": "trip point at the first vent",
    "reading_at_trip": "reading at the trip",
    "vent_rate": "rate of the vent",
    "trip_delay": "delay",
    "pulse_time": "pulse that did not trip",
    "tripping_pulse_time": "pulse that tripped",
    "trip_point": "trip point",
    "trip_point_1": "first",
    "trip_point_2": "second",
    "trip_point_3": "third",
    "trip_spread": "spread",
    "monitor_largest_error": "largest error",
    "monitor_largest_error_so_far": "largest error so far",
    "monitor_hysteresis": "up less down, most",
    "monitor_less_gauge": "monitor less independent gauge",
    "return_time": "return time",
}

_AT_TRAVEL = {
    "out_pressure_": "pressure going out at",
    "back_pressure_": "pressure coming back at",
    "out_time_": "time from first motion to",
    "back_time_": "time from turn back to",
}
"""Pressures and times of a partial stroke, by how far the valve is from its end."""

MEASURED_AS = {
    "t6-t0": "from command to end limit (t6 − t0)",
    "t6-t4": "from start limit to end limit (t6 − t4)",
    "t7-t3": "from first to last motion (t7 − t3)",
}
"""The times of a stroke that a sheet's limit can mean, in words."""


class Shown(msgspec.Struct, frozen=True):
    """A figure as it is printed: value, expanded uncertainty and unit, each as text."""

    value: str
    uncertainty: str
    unit: str
    at_least: bool = False

    def __str__(self) -> str:
        bound = "≥ " if self.at_least else ""
        spread = f" ± {self.uncertainty}" if self.uncertainty not in ("", "0") else ""
        return f"{bound}{self.value}{spread} {self.unit}".rstrip()


def printed_unit(name: str, unit: str) -> str:
    """The unit that a figure of this name and SI unit is printed in."""
    if unit == "1" and name.endswith(_COUNT_ENDS):
        return "1"
    if unit == "ohm" and name.startswith("insulation"):
        return "megaohm"
    if unit == "1/h" and name.startswith("starts"):
        return unit
    if unit == "A" and any(word in name for word in _LOOP_WORDS):
        return "mA"
    return _PRINTED.get(unit, unit)


def shown(figure: Figure) -> Shown:
    """The figure as it is printed, with every digit that was judged and no other."""
    unit = printed_unit(figure.name, figure.unit)
    guard = _moved(figure.expanded_uncertainty, figure.unit, unit)
    value = _moved(figure.value, figure.unit, unit)
    return Shown(
        _plain(value, figure.expanded_uncertainty, figure.value),
        _plain(guard, figure.expanded_uncertainty, figure.expanded_uncertainty),
        "" if unit == "1" else unit,
        figure.lower_bound_only,
    )


def shown_limit(text: str, name: str, unit: str) -> str:
    """A limit of the figure `name`, decimal text in the figure's SI unit, as it is printed; empty stays empty."""
    if not text:
        return ""
    target = printed_unit(name, unit)
    if target == unit:
        return text
    return _without_zeros(_moved(text, unit, target))


def number_in(value: float, unit: str, target: str) -> float:
    """A reading in another unit, for curves: never for a figure."""
    return quantity.conversion(unit, target).apply(value)


def figure_name(name: str) -> str:
    """What people call a figure."""
    if at := _AT_POINT.fullmatch(name):
        what = {"loop_current": "current", "stem": "stem"}.get(at["what"], "error")
        return f"{what} at {at['point']} % {at['way']}{f', cycle {number}' if (number := at['cycle']) else ''}"
    if name.startswith("travel_") and name.endswith("_pct_time"):
        return f"time to {name.removeprefix('travel_').removesuffix('_pct_time')} % travel"
    for begins, words in _AT_TRAVEL.items():
        if name.startswith(begins) and name.endswith("_pct"):
            return f"{words} {name.removeprefix(begins).removesuffix('_pct')} %"
    return _NAMES.get(name, name.replace("_", " "))


def clock_text(at_utc: str, day: str = "") -> str:
    """
    A time of the record as `12:30:05`, with its date before it unless that is `day`; what is no time stays as it is.

    Args:
        at_utc: RFC 3339.

        day: A date as `2026-11-24`, said once elsewhere.
    """
    try:
        at = datetime.fromisoformat(at_utc)
    except ValueError:
        return at_utc
    date = at.date().isoformat()
    return f"{at:%H:%M:%S}" if date == day else f"{date} {at:%H:%M:%S}"


def date_text(at_utc: str) -> str:
    """The date of a time of the record."""
    return at_utc[:10]


def duration_text(seconds: float) -> str:
    """A length of time for people: `45 s` below two minutes, `18 min` above."""
    return f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min"


def _moved(text: str, unit: str, target: str) -> Decimal:
    """The decimal in the target unit; a scale that is a power of ten moves the point and nothing else."""
    number = Decimal(text)
    if unit == target:
        return number
    by = quantity.conversion(unit, target)
    scale = Decimal(format(by.scale, ".12g"))
    if scale.normalize().as_tuple().digits == (1,) and by.offset == 0:
        return number.scaleb(scale.adjusted())
    return number * scale + Decimal(repr(by.offset))


def _plain(moved: Decimal, uncertainty: str, original: str) -> str:
    """
    Decimal text without exponent, cut after the two significant digits of the uncertainty where only zeros follow.

    `4800000 ± 12000` Pa is stored to the pascal, but nothing is claimed below 1000 Pa: in bar it is 48.00 ± 0.12.
    """
    guard = Decimal(uncertainty)
    shift = moved.as_tuple().exponent
    source = Decimal(original).as_tuple().exponent
    if guard == 0 or not isinstance(shift, int) or not isinstance(source, int):
        return _without_zeros(moved) if guard == 0 else format(moved, "f")
    place = guard.adjusted() - 1 + shift - source
    try:
        cut = moved.quantize(Decimal(1).scaleb(place))
    except InvalidOperation:
        return format(moved, "f")
    return format(cut, "f") if cut == moved else format(moved, "f")


def _without_zeros(number: Decimal) -> str:
    text = format(number, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text
