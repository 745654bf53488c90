"""How long, how far, how fast and at what pressure a partial stroke may go: from the baseline, else from the sheet."""

from commission.procedures.full_stroke import travel_timeout_s
from commission.procedures.partial_told import Told
from commission.sheet import End, Sheet
from commission.sheet.model import PartialStroke

BREAKS_AWAY_TIMES, FAST_TIMES, LATE_TIMES = 2.0, 1.5, 1.5
"""Breakaway time and speed against the baseline, times against the sheet (common practice, no source)."""

OWN_ALARM_S = 1.0
"""So long before an alarm of the unit's own the laptop aborts (common practice, no source)."""

LEAST_PRESSURE_PA = 5e5
_PRESSURE_SHARE = 0.5


def over_travel(plan: PartialStroke) -> float:
    """Where the laptop aborts: half way between target and the unit's own guard, fraction of travel."""
    return (plan.target_pct + plan.guard_travel_pct) / 200


def breakaway_s(plan: PartialStroke, told: Told) -> float:
    """Longest from command to first motion: twice the baseline's dead time, else half the sheet's time out."""
    usual_s = told.mean("dead_time")
    return plan.out_s / 2 if usual_s is None else max(BREAKS_AWAY_TIMES * usual_s, 1.0)


def longest_out_s(sheet: Sheet, plan: PartialStroke, told: Told) -> float:
    """
    Longest from the command to the target: once and a half the sheet's time after breakaway, and less than what would
    take the valve out of our hands: the unit's own guard, or its travel time-out where the laptop turns it round.
    """
    longest_s = LATE_TIMES * plan.out_s + breakaway_s(plan, told)
    if plan.turned_by == "unit":
        return min(longest_s, plan.guard_time_s - OWN_ALARM_S)
    return min(longest_s, before_time_out_s(sheet, told)) if plan.turned_by == "laptop" else longest_s


def before_time_out_s(sheet: Sheet, told: Told) -> float:
    """
    How long the laptop's way out may last, so that its return reaches the unit before the unit's travel time-out.

    The unit counts from our command, for it takes it for a full stroke; after its alarm nothing may be sent any more
    (number 8), and the valve would go on to its end.
    """
    away = End.CLOSED if start_end(sheet) is End.OPEN else End.OPEN
    by_sheet_s = travel_timeout_s(sheet, away)
    read_back = told.settings.get("travel_timeout_open" if away is End.OPEN else "travel_timeout_close")
    set_s = by_sheet_s if read_back is None else min(by_sheet_s, float(read_back))
    return set_s - OWN_ALARM_S - (told.gap_s + told.latency_s) * told.speed


def start_end(sheet: Sheet) -> End:
    """The end that a partial stroke leaves: the one that is not the fail position."""
    return End.CLOSED if sheet.actuator.fail_position is End.OPEN else End.OPEN


def longest_back_s(plan: PartialStroke) -> float:
    """Longest from turning to the end: once and a half the sheet's time."""
    return LATE_TIMES * plan.back_s


def fastest(plan: PartialStroke, told: Told) -> float:
    """Largest speed that is tolerated, fraction of travel a second: x 1.5 of the baseline, else of the sheet's."""
    usual = told.mean("speed") or plan.target_pct / 100 / plan.out_s
    return FAST_TIMES * usual


def lowest_pressure_pa(told: Told) -> float:
    """Below this the valve would not come back, or the spring runs away: half the baseline's pressure at its target."""
    lowest = [
        told.mean(name) for run in (told.baseline.runs if told.baseline else ()) for name in run.values
        if name.startswith("out_pressure_")
    ]  # fmt: skip
    known = [pressure for pressure in lowest if pressure is not None]
    return max(LEAST_PRESSURE_PA, _PRESSURE_SHARE * min(known)) if known else LEAST_PRESSURE_PA
