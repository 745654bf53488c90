"""
Settings that follow from the slowest legitimate stroke, beside the settings that the sheet or the unit has.

A protection that is set to the warm, empty, well-fed stroke trips for nothing in January. The slowest legitimate stroke
is the slowest of: coldest and hottest oil, lowest supply, design pressure difference, all with the worst spring of the
drawing. The factors on it are common practice, no source.
"""

import math
from collections.abc import Mapping
from functools import lru_cache

import msgspec

from commission.engineering.moving import Conditions, Mover, Stroke
from commission.engineering.same_sheet import SameSheet
from commission.engineering.stored import band_m3
from commission.engineering.supply import allowed_starts
from commission.engineering.unit import REFERENCE_C, Unit
from commission.sheet.model import End, Sheet

RUN_FACTORS = (1.5, 2.0)
"""Run-time limit over the slowest legitimate run. Common practice, no source."""

TRAVEL_FACTORS = (1.25, 2.0)
"""Travel time-out over the slowest legitimate stroke: 1.25 to 1.5 is common; more is late but not wrong."""


class Proposal(msgspec.Struct, frozen=True, kw_only=True):
    """
    A setting as it follows, and as it is.

    Args:
        name: Of the setting, as the sheet's `protections` has it.

        least: Lowest sensible value.

        most: Highest.

        unit: Of all three.

        setting: What is set.

        because: From what it follows.
    """

    name: str
    least: float
    most: float
    unit: str
    setting: float
    because: str

    @property
    def verdict(self) -> str:
        """How the setting stands, in words."""
        if math.isinf(self.least):
            return "cannot be judged: the slowest stroke does not finish"
        if self.setting < self.least:
            return "too short: may trip on a legitimate stroke"
        return "longer than needed" if self.setting > self.most else "agrees"


class Slowest(msgspec.Struct, frozen=True):
    """The slowest legitimate stroke to an end, and what makes it so."""

    stroke: Stroke
    because: str


def lowest_speed(unit: Unit) -> float:
    """Share of rated pump speed at the lowest supply: a direct-current motor follows its volts, others hardly."""
    supply = unit.sheet.supply
    if supply.phases != "DC" or supply.lowest_v is None:
        return 1.0
    return min(1.0, supply.lowest_v / supply.motor_v)


def legitimate_oil_c(unit: Unit) -> tuple[float, ...]:
    """Oil temperatures to try: the coldest that the pump may start on, 20 °C, the hottest."""
    place = unit.sheet.environment
    coldest, hottest = place.coldest_c, place.hottest_c
    if place.pump_inhibited_below_c is not None:
        coldest = max(coldest, place.pump_inhibited_below_c)
    if unit.oil is not None and unit.oil.thickened:  # never beyond its own table
        coldest, hottest = max(coldest, unit.oil.points[0][0]), min(hottest, unit.oil.points[-1][0])
    return coldest, REFERENCE_C, hottest


def slowest(unit: Unit, towards: End) -> Slowest | None:
    """The slowest legitimate stroke to an end; None where the sheet does not give enough."""
    mover, speed = Mover(unit), lowest_speed(unit)
    tolerance = unit.drive.spring_tolerance
    driven = towards is unit.drive.spring_end
    spring = 1 - tolerance if driven else 1 + tolerance
    worst = f", {'weakest' if driven else 'strongest'} spring" if tolerance else ""
    found: Slowest | None = None
    for oil_c in legitimate_oil_c(unit):
        conditions = Conditions(load_share=1.0, oil_c=oil_c, speed_share=speed, spring_factor=spring)
        stroke = mover.stroke(towards, conditions)
        if stroke is not None and (found is None or stroke.time_s > found.stroke.time_s):
            low = f", {unit.sheet.supply.lowest_v:g} V" if speed < 1.0 and stroke.by == "pump" else ""
            found = Slowest(stroke, f"oil {oil_c:g} °C{low}, design load{worst}")
    return found


def proposal_for(sheet: Sheet, setting: str) -> Proposal | None:
    """The proposal for a setting named as in the sheet's `protections`; None where nothing can be proposed."""
    return _by_setting(SameSheet(sheet)).get(setting)


@lru_cache(maxsize=4)
def _by_setting(same: SameSheet) -> Mapping[str, Proposal]:
    try:
        return {proposal.name: proposal for proposal in proposals(Unit(same.sheet))}
    except ValueError:  # a sheet that contradicts itself is told so by `commission expected`
        return {}


def proposals(unit: Unit) -> tuple[Proposal, ...]:
    """Proposed settings beside those of the sheet."""
    settings = unit.sheet.protections
    found = []
    for towards, name, setting in (
        (End.OPEN, "travel_timeout_open_s", settings.travel_timeout_open_s),
        (End.CLOSED, "travel_timeout_close_s", settings.travel_timeout_close_s),
    ):
        slow = slowest(unit, towards)
        if slow is not None and unit.sheet.modulating is None:  # which alarms on deviation instead
            found.append(_proposal(name, setting, TRAVEL_FACTORS, slow.stroke.time_s, slow.because))
    run = longest_run(unit)
    if run is not None:
        found.append(_proposal("run_limit_s", settings.run_limit_s, RUN_FACTORS, run[0], run[1]))
    starts = _starts(unit)
    return (*found, starts) if starts is not None else tuple(found)


def longest_run(unit: Unit) -> tuple[float, str] | None:
    """Longest legitimate motor run in seconds, from the slowest pumped stroke and filling the accumulator after it."""
    mover, speed = Mover(unit), lowest_speed(unit)
    runs = []
    for oil_c in legitimate_oil_c(unit):
        conditions = Conditions(load_share=1.0, oil_c=oil_c, speed_share=speed)
        filling_s = mover.fill_s(0.0, unit.cut_out_pa, conditions)
        strokes = [mover.stroke(end, conditions) for end in unit.drive.powered_ends]
        pumped = [stroke.time_s for stroke in strokes if stroke is not None and stroke.by == "pump"]
        runs.append((max(pumped, default=0.0) + filling_s, oil_c))
    longest, oil_c = max(runs)
    low = f", {unit.sheet.supply.lowest_v:g} V" if speed < 1.0 else ""
    return (longest, f"stroke and filling from empty, oil {oil_c:g} °C{low}, design load") if longest > 0 else None


def _starts(unit: Unit) -> Proposal | None:
    """Starts that the window may allow: two for a stroke and its correction, at most what the motor stands."""
    settings, kw = unit.sheet.protections, unit.sheet.supply.power_kw
    motor = None if kw is None else allowed_starts(kw)
    if motor is None:
        return None
    gas, oil = band_m3(unit)
    per_h = motor[0] * settings.starts_window_min / 60.0
    because = f"motor of {kw:g} kW, {motor[0]:g} starts an hour (four-pole table); band {(gas + oil) * 1e6:.0f} mL"
    return Proposal(
        name="starts_allowed", least=2.0, most=per_h, unit="", setting=float(settings.starts_allowed), because=because
    )


def _proposal(name: str, setting: float, factors: tuple[float, float], seconds: float, because: str) -> Proposal:
    low, high = factors
    return Proposal(
        name=name,
        least=low * seconds,
        most=high * seconds,
        unit="s",
        setting=setting,
        because=f"{seconds:.4g} s: {because}",
    )
