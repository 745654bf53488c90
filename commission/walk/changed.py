"""
Somebody changed something: settings, counters and selector now, against how they stood when live was left.

A setting that moved while nobody here recorded it is shown first, as a deviation, and voids what depends on it. So is a
counter that went back. What may have a plain cause (a selector turned for the lockout, a pump that topped up before its
supply was locked) is said and recorded, and is no deviation.
"""

from collections.abc import Mapping

import msgspec

from commission import quantity
from commission.job.bodies import Adjusted, Body, UnitSurveyed
from commission.job.state import Job
from commission.job.survey import Surveyed
from commission.sheet import ROLES, RoleKind, Sheet
from commission.walk import acts

COUNTERS = ("starts_total", "run_time_total")
SELECTOR = ("remote", "automatic", "follows_link")

VOIDED_BY: Mapping[str, str] = {
    "run_limit": "setting-run-limit",
    "starts_allowed": "setting-starts",
    "starts_window": "setting-starts",
    "travel_timeout_open": "setting-travel-timeout",
    "travel_timeout_close": "setting-travel-timeout",
    "trip_high": "monitor-setting",
    "trip_low": "monitor-setting",
    "trip_high_delay": "monitor-setting",
    "trip_low_delay": "monitor-setting",
    "deviation_limit": "setting-deviation",
    "deviation_time": "setting-deviation",
    "partial_guard_travel": "setting-partial-guard",
    "partial_guard_time": "setting-partial-guard",
}
"""For each setting: the line of the checklist's table of what an adjustment makes void."""

_SHOWN_IN = {"Pa": "bar", "1": "1"}
_SHARES = ("deviation_limit", "partial_guard_travel")


class Change(msgspec.Struct, frozen=True, kw_only=True):
    """
    One thing that is not as it was.

    Args:
        role: Which.

        words: What it was and what it is, as `run-time limit 300 s to 900 s`.

        nobody: Whether nobody here made or recorded it.

        touched: The line of the table of what it makes void; empty where it voids nothing.
    """

    role: str
    words: str
    nobody: bool
    touched: str = ""


def roles_of(sheet: Sheet) -> tuple[str, ...]:
    """What is looked at each time live is entered or left: settings, counters and selector, as far as they are read."""
    return tuple(
        point.role
        for point in sheet.points
        if not point.read_clears
        and (ROLES[point.role].kind is RoleKind.SETTING or point.role in COUNTERS or point.role in SELECTOR)
    )


def changes(job: Job, values: Mapping[str, float]) -> tuple[Change, ...]:
    """
    What is not as it was when it was looked at last; empty where nothing was, or nothing is.

    Args:
        job: Where the visit stands, before this look is recorded.

        values: What was read now, by role.
    """
    before = job.surveyed
    if before is None:
        return ()
    found = []
    for role, now in values.items():
        old = before.values.get(role)
        if old is None or old == now:
            continue
        found.append(_counter(role, old, now) if role in COUNTERS else _setting(before, role, old, now))
    return tuple(found)


def looked(job: Job, when: str, values: Mapping[str, float]) -> tuple[Body, ...]:
    """
    The events that a look makes: the look itself, then for each change that nobody here made what it makes void, and
    the deviation.
    """
    found = changes(job, values)
    bodies: list[Body] = [UnitSurveyed(when=when, values=values, changed=tuple(change.words for change in found))]
    for number, change in enumerate((one for one in found if one.nobody), start=1 + len(job.deviations)):
        detail = f"{change.words}; found {when}, nobody here recorded it"
        if change.touched in job.checklist.voids:
            bodies.append(Adjusted(touched=change.touched, detail=detail))
        deviation = acts.raise_deviation(
            job,
            "",
            f"as it stood at {job.surveyed.at_utc[11:16]} UTC" if job.surveyed else "",
            f"somebody changed something: {change.words}",
            risk="who, when and why is not known; what depends on it is void",
            classed="A",
        )
        bodies.append(msgspec.structs.replace(deviation, id=f"D{number}"))
    return tuple(bodies)


def _setting(before: Surveyed, role: str, old: float, now: float) -> Change:
    known = ROLES[role]
    if known.kind is RoleKind.BIT:
        words = (known.false_word, known.true_word)
        return Change(role=role, words=f"{known.label} {words[old != 0]} to {words[now != 0]}", nobody=False)
    words_now = f"{known.label} {_value(role, old)} to {_value(role, now)}"
    recorded = bool(before.known)
    return Change(role=role, words=words_now, nobody=not recorded, touched=VOIDED_BY.get(role, ""))


def _counter(role: str, old: float, now: float) -> Change:
    """A counter that went back is another unit's, or was reset."""
    label = ROLES[role].label
    if now < old:
        return Change(
            role=role, words=f"{label} went back, {old:.0f} to {now:.0f}: reset, or another unit", nobody=True
        )
    return Change(role=role, words=f"{label} {old:.0f} to {now:.0f}", nobody=False)


def _value(role: str, value: float) -> str:
    if role in _SHARES:
        return f"{value * 100:.4g} %"
    unit = ROLES[role].unit
    shown = _SHOWN_IN.get(unit, unit)
    number = quantity.conversion(unit, shown).apply(value) if unit != shown else value
    return f"{number:.6g}{'' if shown == '1' else f' {shown}'}"
