"""
The verdict on a partial stroke: against limits that may not be broken, then against its baseline.

Fail where an absolute limit is broken; *pass, watch* where all of them hold and a figure is outside its baseline band,
or not certainly inside; not decided where a limit, or the breakaway, cannot be decided; else pass.
"""

import msgspec

from commission.analysis.baseline import OUTSIDE, Compared
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
    verdict = _against_baseline(compared)
    words = "" if verdict is Verdict.PASS else _reasons(by_name, compared)
    found = msgspec.structs.replace(found, verdict=verdict, rule_text=_RULE, settles=words)
    return by_name[worst], limits[worst], origin, found


def _against_baseline(compared: tuple[Compared, ...]) -> Verdict:
    """A figure to watch says more than one that cannot be decided; both say more than those that passed."""
    given = {row.verdict for row in compared}
    return next((one for one in (Verdict.PASS_WATCH, Verdict.NOT_DECIDED) if one in given), Verdict.PASS)


def _reasons(figures: dict[str, Figure], compared: tuple[Compared, ...]) -> str:
    """What is outside its band, with both values; what that is of; what is not certain; what cannot be decided."""
    outside = [row for row in compared if row.verdict == Verdict.PASS_WATCH and row.why == OUTSIDE]
    unsure = [row for row in compared if row.verdict == Verdict.PASS_WATCH and row.why != OUTSIDE]
    undecided = [row for row in compared if row.verdict == Verdict.NOT_DECIDED]
    parts = [_departure(figures[row.figure], row) for row in outside]
    if any(figures[row.figure].unit == "Pa" for row in outside):
        parts += [_departure(figures[row.figure], row) for row in compared if row.figure in _SPLIT and row.baseline]
    if unsure:
        names = ", ".join(f"{_name(row.figure)} (U {_shown(figures[row.figure])})" for row in unsure)
        parts.append(f"not certainly inside: {names}")
    parts += dict.fromkeys(f"{_name(row.figure)} not decided: {row.why}" for row in undecided)
    return "; ".join(parts)


_SPLIT = ("friction_pressure", "spring_pressure")
"""What a change of pressure is of: said beside it."""


def _name(figure: str) -> str:
    return figure.replace("_pct", " %").replace("_", " ")


def _shown(figure: Figure) -> str:
    scale, unit, digits = _SHOWN.get(figure.unit, (1.0, figure.unit, 2))
    return f"{float(figure.expanded_uncertainty) * scale:.{digits}f} {unit}"


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
    name = _name(figure.name)
    share = f", {100 * (value - was) / was:+.0f} %" if was else ""
    return (
        f"{name} {value * scale:.{digits}f} {unit}, was {was * scale:.{digits}f} {unit}"
        f" ({(value - was) * scale:+.{digits}f} {unit}{share})"
    )


_SHOWN = {"Pa": (1e-5, "bar", 1), "1": (100.0, "%", 2), "1/s": (100.0, "%/s", 2), "s": (1.0, "s", 2)}


def _text(value: float) -> str:
    return f"{value:.6g}"
