"""
The verdict on a partial stroke: against limits that may not be broken, then against its baseline.

Fail where an absolute limit is broken; *pass, watch* where all of them hold and a figure is outside its baseline band,
or not certainly inside; not decided where a limit, or the breakaway, cannot be decided; else pass.
"""

import msgspec

from commission.analysis.baseline import Compared
from commission.analysis.decision import Decision, Limits, decide
from commission.figure import Figure, Verdict
from commission.sheet.model import PartialStroke

SLOWEST_TIMES, FASTEST_SHARE = 1.5, 0.5
HOME_WITHIN = 0.02

_RULE = (
    "absolute limits guarded by the 95 % uncertainty (ILAC-G8:09/2019, 4.2.2); then each figure against the baseline's"
    " band: pass where it is inside by its uncertainty, pass, watch where it is not"
)


def absolute_limits(plan: PartialStroke, deliberate_pct: float | None = None) -> dict[str, Limits]:
    """
    Limits by figure, in SI units, as decimal text.

    Args:
        plan: The sheet's partial stroke.

        deliberate_pct: Where the return was commanded on purpose; there is no time to target then.
    """
    slow, fast, guard = SLOWEST_TIMES, FASTEST_SHARE, plan.guard_travel_pct / 100
    limits = {
        "time_to_target": Limits(_text(fast * plan.out_s), _text(slow * plan.out_s)),
        "turning_point": Limits(None, _text(guard)),
        "return_time": Limits(None, _text(slow * plan.back_s)),
        "final_travel": Limits(None, _text(HOME_WITHIN)),
    }
    if deliberate_pct is not None:
        del limits["time_to_target"]
        limits["turning_point"] = Limits(_text(deliberate_pct / 100 - HOME_WITHIN), _text(guard))
    return limits


def judge_partial(
    figures: tuple[Figure, ...],
    plan: PartialStroke,
    compared: tuple[Compared, ...],
    deliberate_pct: float | None = None,
) -> tuple[Figure, Limits, str, Decision] | None:
    """
    The figure that decides, its limits with their origin, and the verdict on the whole stroke.

    Args:
        figures: Of one partial stroke.

        plan: The sheet's partial stroke.

        compared: The same figures beside the baseline; empty where there is none.

        deliberate_pct: Where the return was commanded on purpose.

    Returns:
        None where a figure that has an absolute limit was not seen.
    """
    limits = absolute_limits(plan, deliberate_pct)
    by_name = {figure.name: figure for figure in figures}
    if not limits.keys() <= by_name.keys():
        return None
    decided = {name: decide(by_name[name], limit) for name, limit in limits.items()}
    worst = min(decided, key=lambda name: _ORDER.index(decided[name].verdict))
    origin = f"{_ORIGINS[worst]} (sheet; common practice, no source)"
    found = decided[worst]
    if found.verdict is not Verdict.PASS:
        return by_name[worst], limits[worst], origin, found
    watched = [row for row in compared if row.verdict == Verdict.PASS_WATCH]
    undecided = [row for row in compared if row.verdict == Verdict.NOT_DECIDED]
    if watched:
        words = "; ".join(_departure(by_name[row.figure], row) for row in watched)
        rule = f"{_RULE}. Watch: {words}"
        found = msgspec.structs.replace(found, verdict=Verdict.PASS_WATCH, rule_text=rule, settles=words)
    elif undecided:
        words = "; ".join(dict.fromkeys(f"{row.figure.replace('_', ' ')}: {row.why}" for row in undecided))
        found = msgspec.structs.replace(found, verdict=Verdict.NOT_DECIDED, rule_text=_RULE, settles=words)
    else:
        found = msgspec.structs.replace(found, rule_text=_RULE)
    return by_name[worst], limits[worst], origin, found


_ORDER = (Verdict.FAIL, Verdict.NOT_DECIDED, Verdict.PASS)

_ORIGINS = {
    "time_to_target": "half to once and a half the sheet's time out",
    "turning_point": "the unit's own guard",
    "return_time": "once and a half the sheet's time back",
    "final_travel": "within 2 % of its end",
}


def _departure(figure: Figure, row: Compared) -> str:
    """How a figure has changed, as `breakaway pressure 48.2 bar, was 53.5 bar (-5.3 bar, -10 %)`."""
    value, was = float(figure.value), float(row.baseline)
    scale, unit, digits = _SHOWN.get(figure.unit, (1.0, figure.unit, 2))
    name = figure.name.replace("_", " ")
    share = f", {100 * (value - was) / was:+.0f} %" if was else ""
    return (
        f"{name} {value * scale:.{digits}f} {unit}, was {was * scale:.{digits}f} {unit}"
        f" ({(value - was) * scale:+.{digits}f} {unit}{share})"
    )


_SHOWN = {"Pa": (1e-5, "bar", 1), "1": (100.0, "%", 2), "1/s": (100.0, "%/s", 2), "s": (1.0, "s", 2)}


def _text(value: float) -> str:
    return f"{value:.6g}"
