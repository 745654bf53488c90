"""
What must hold before a partial stroke, each looked at in readings under five seconds old and named in words.

What no reading shows (who agreed, who stands at the stem, which way back was proved) is asked and checked by the walk.
"""

from collections.abc import Iterator, Sequence

from commission.analysis.partial import Check
from commission.procedures.partial_bounds import before_time_out_s, longest_back_s
from commission.procedures.partial_guards import Progress
from commission.procedures.partial_told import Told
from commission.sheet import ROLES, Sheet
from commission.sheet.decode import Readings
from commission.sheet.model import PartialStroke
from commission.sheet.roles import RoleKind

OLDEST_S = 5.0
"""A reading older than this is no pre-check (safety rule R22)."""

AT_START = 0.02
STEADY = 0.005
"""At most 2 % from its end, and within half a percent of itself (common practice, no source)."""

SUPPLY_LOW, SUPPLY_HIGH = 0.85, 1.2
"""24 V DC: - 15 / + 20 % at the terminals (IEC 61131-2, from memory)."""

STARTS_LEFT = 2
_STATES = {"esd_healthy": True, "remote": True, "automatic": True, "alarm_relay": True, "low_fluid": False}


def checked_roles(sheet: Sheet) -> tuple[str, ...]:
    """The points that the checks look at, as far as the unit has them."""
    alarms = tuple(
        point.role
        for point in sheet.points
        if point.role.startswith("alarm_") and point.role in ROLES and ROLES[point.role].kind is RoleKind.BIT
    )
    numbers = ("travel", "cylinder_pressure", "supply_voltage", "oil_temperature", "pipeline_pressure", "motor_running")
    settings = ("starts_allowed", "run_limit", "partial_guard_travel", "partial_guard_time")
    wanted = (*_STATES, *alarms, *numbers, "open_limit", "closed_limit", *settings)
    return tuple(dict.fromkeys(role for role in wanted if sheet.has(role)))


def checks(
    sheet: Sheet, plan: PartialStroke, told: Told, progress: Progress, still: Sequence[Readings], now_ns: int
) -> tuple[Check, ...]:
    """
    Every check, in the order in which a person wants to hear of them.

    Args:
        sheet: The unit's sheet.

        plan: Its partial stroke.

        told: What is known besides.

        progress: Which end it leaves.

        still: The readings of the time in which it was seen to stand still.

        now_ns: Unit time now.
    """
    if not still or now_ns - still[-1].at_ns > OLDEST_S * 1e9:
        return (Check("readings", f"none in the last {OLDEST_S:g} s", holds=False),)
    latest = still[-1]
    return (
        *_states(sheet, latest),
        *_place(progress, still, told),
        *_pressure(sheet, latest),
        *_supply_and_oil(sheet, latest),
        *_line(sheet, latest, told),
        *_motor(sheet, plan, latest, told),
        *_own_guard(sheet, plan, latest),
        *_own_time_out(sheet, plan, told),
        *_baseline(told),
    )


def _states(sheet: Sheet, latest: Readings) -> Iterator[Check]:
    roles = [role for role in checked_roles(sheet) if ROLES[role].kind is RoleKind.BIT]
    bad = []
    for role in roles:
        good = _STATES.get(role, False if role.startswith("alarm_") else None)
        value = latest.bit(role)
        if good is None:
            continue
        known = ROLES[role]
        words = "not read" if value is None else known.true_word if value else known.false_word
        if role in _STATES:
            yield Check(known.label, words, holds=value is good)
        elif value is not False:
            bad.append(f"{known.label} {words}")
    yield Check("alarms", ", ".join(bad) or "none active", holds=not bad)


def _place(progress: Progress, still: Sequence[Readings], told: Told) -> Iterator[Check]:
    places = [away for item in still if (away := progress.away(item)) is not None]
    if not places:
        yield Check("valve at its start", "travel not read", holds=False)
        return
    words = f"{places[-1] * 100:.1f} % from {progress.start_end.value}"
    yield Check("valve at its start", words, holds=max(places) <= AT_START)
    lasted_s = (still[-1].at_ns - still[0].at_ns) / 1e9
    spread = max(places) - min(places)
    steady = f"within {spread * 100:.2f} % for {lasted_s:.0f} s, no time-out"
    yield Check("steady, line good", steady, holds=spread <= STEADY and lasted_s >= 0.95 * told.steady_s)
    running = still[-1].bit("motor_running")
    if running is not None:
        yield Check("motor", "running" if running else "stopped", holds=not running)


def _pressure(sheet: Sheet, latest: Readings) -> Iterator[Check]:
    pressure = latest.value("cylinder_pressure")
    low, high = sheet.pump.low_alarm_bar, sheet.pump.relief_bar
    if not sheet.has("cylinder_pressure"):
        return
    words = "not read" if pressure is None else f"{pressure / 1e5:.1f} bar, {low:g} to {high:g} bar"
    yield Check("hydraulic pressure", words, holds=pressure is not None and low <= pressure / 1e5 <= high)


def _supply_and_oil(sheet: Sheet, latest: Readings) -> Iterator[Check]:
    if sheet.has("supply_voltage"):
        volts, nominal = latest.value("supply_voltage"), sheet.supply.motor_v
        low, high = SUPPLY_LOW * nominal, SUPPLY_HIGH * nominal
        words = "not read" if volts is None else f"{volts:.1f} V, {low:.1f} to {high:.1f} V"
        yield Check("supply", words, holds=volts is not None and low <= volts <= high)
    if sheet.has("oil_temperature"):
        oil = latest.value("oil_temperature")
        coldest, hottest = sheet.environment.coldest_c, sheet.environment.hottest_c
        words = "not read" if oil is None else f"{oil:.1f} °C, {coldest:g} to {hottest:g} °C"
        yield Check("oil", words, holds=oil is not None and coldest <= oil <= hottest)


def _line(sheet: Sheet, latest: Readings, told: Told) -> Iterator[Check]:
    monitor = sheet.monitor
    if monitor is None or not sheet.has("pipeline_pressure"):
        return
    line = latest.value("pipeline_pressure")
    margin = told.line_change_bar or 0.0
    low, high = monitor.low_trip_bar + margin, monitor.high_trip_bar - margin
    words = "not read" if line is None else f"{line / 1e5:.1f} bar, {low:g} to {high:g} bar"
    yield Check("line pressure", words, holds=line is not None and low <= line / 1e5 <= high)


def _motor(sheet: Sheet, plan: PartialStroke, latest: Readings, told: Told) -> Iterator[Check]:
    """Starts and run time that the unit's own protections still allow: the way back must not be the refused one."""
    read = latest.value("starts_allowed")
    allowed = float(sheet.protections.starts_allowed) if read is None else read
    if told.starts_used is not None:
        left = allowed - told.starts_used
        words = f"{left:.0f} left of {allowed:.0f}, {told.starts_used} counted"
        yield Check("motor starts", words, holds=left >= STARTS_LEFT)
    limit_s = latest.value("run_limit") or sheet.protections.run_limit_s
    needed_s = longest_back_s(plan)
    yield Check("motor run time", f"{limit_s:.0f} s left, {needed_s:.0f} s needed", holds=limit_s >= needed_s)


def _own_guard(sheet: Sheet, plan: PartialStroke, latest: Readings) -> Iterator[Check]:
    if plan.turned_by != "unit" or not sheet.has("partial_guard_travel", "partial_guard_time"):
        return
    travel, seconds = latest.value("partial_guard_travel"), latest.value("partial_guard_time")
    if travel is None or seconds is None:
        yield Check("unit's own guard", "not read", holds=False)
        return
    words = f"{travel * 100:g} % and {seconds:g} s, sheet {plan.guard_travel_pct:g} % and {plan.guard_time_s:g} s"
    same = abs(travel * 100 - plan.guard_travel_pct) < 0.05 and abs(seconds - plan.guard_time_s) < 0.05
    yield Check("unit's own guard", words, holds=same)


def _own_time_out(sheet: Sheet, plan: PartialStroke, told: Told) -> Iterator[Check]:
    """Where the laptop turns it round, the unit takes its command for a full stroke and times it."""
    if plan.turned_by == "laptop":
        left_s = before_time_out_s(sheet, told)
        words = f"{left_s:.1f} s until the return must be there, {plan.out_s:g} s needed"
        yield Check("unit's travel time-out", words, holds=left_s >= plan.out_s)


def _baseline(told: Told) -> Iterator[Check]:
    if told.baseline is None:
        yield Check("baseline", "none yet: nothing is compared", holds=True)
    elif told.apart:
        yield Check("baseline", f"{told.baseline.id} is not of this unit as it stands: {told.apart}", holds=True)
    else:
        yield Check("baseline", f"{told.baseline.id}, {len(told.baseline.runs)} runs, same settings", holds=True)
