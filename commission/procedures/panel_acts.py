"""
J2, J3, J4: people work panel, selector and control room; the program watches what the valve makes of each act.

Nothing is sent from here: in LOCAL and OFF the laptop has no word, and a command that is tried there is the control
room's. Each act is asked for, done, and watched; what a person must see, the stem, is typed.
"""

from collections.abc import Callable, Mapping

from commission.analysis.panel_acts import STILL, Act, ActSeen, ActsObserved, Follows
from commission.procedures.fail_safe_plan import PEOPLE_S, safe_end_of
from commission.procedures.full_stroke import travel_timeout_s, watched_roles
from commission.procedures.onlooker import CANNOT, GAP_S, Onlooker
from commission.procedures.requests import Ask, Begin, Note, Procedure, SafeEnd
from commission.sheet import End, Sheet
from commission.sheet.decode import Readings

WATCHED_S = 3.0
"""After each act: longer than a stop takes, and than a stored command would take to start (common practice)."""

_STILL_S = 1.0
_HEARD_S = 30.0
_STEM = ("open", "closed", "still")
_REFUSED = ("refused", "obeyed")
_STOPPED = ("stopped", "moved on")


def panel_acts(sheet: Sheet, arguments: Mapping[str, str]) -> Procedure[ActsObserved]:
    """
    Act by act through one of the lists.

    Args:
        sheet: The unit's sheet.

        arguments: `acts`: stop, selector or jog; `test` names the run.

    Returns:
        What was seen of each act.

    Raises:
        ValueError: there is no such list, or the sheet names no safe end.
    """
    wanted, safe = acts_of(sheet, arguments), safe_end_of(sheet)
    yield Begin(
        test=arguments.get("test", "acts"),
        commands=(),
        safe_end=SafeEnd.SEND_NOTHING,
        safe_command=None,
        guards={},
        roles=watched_roles(sheet, ("remote", "esd_healthy")),
        longest_s=panel_acts_longest_s(sheet, arguments),
        gap_s=GAP_S,
    )
    seen = Onlooker()
    yield from seen.watch_for(1.0)
    found: list[ActSeen] = []
    for act in wanted:
        yield Note(f"NEXT: {act.words}", loud=True)
        yield from seen.hear_again(_HEARD_S)
        before = seen.level("travel")
        said = yield from seen.ask(Ask(act.id, f"{act.words} {_how(act)}"), words=act.answers)
        if said.startswith(CANNOT):
            return ActsObserved(test=arguments.get("test", ""), seen=tuple(found), why=f"{act.id}: {said}")
        yield from seen.watch_for(WATCHED_S)
        stem = ""
        yield from seen.hear_again(_HEARD_S)
        if act.stem:
            stem = yield from seen.ask(
                Ask(f"{act.id} stem", f"The stem itself went? ({', '.join(_STEM)})"), words=_STEM
            )
        one = ActSeen(
            act=act,
            said=said,
            before=before,
            after=seen.level("travel"),
            still=_stands_still(seen),
            at=next((end for end in End if seen.bit(f"{end.value}_limit")), None),
            safe=safe,
            stem=stem,
            remote=seen.bit("remote"),
        )
        found.append(one)
        yield Note(one.words, loud=True)
        seen.forget(WATCHED_S)
    return ActsObserved(test=arguments.get("test", ""), seen=tuple(found))


def acts_of(sheet: Sheet, arguments: Mapping[str, str]) -> tuple[Act, ...]:
    """
    The acts of a list, as this unit allows them.

    Raises:
        ValueError: there is no such list.
    """
    name = arguments.get("acts", "")
    if name not in _LISTS:
        raise ValueError(f"acts: one of {', '.join(_LISTS)}, not {name!r}")
    return _LISTS[name](sheet)


def panel_acts_longest_s(sheet: Sheet, arguments: Mapping[str, str]) -> float:
    """The longest that a list may take, people included; raises ValueError as `acts_of` does."""
    return PEOPLE_S + len(acts_of(sheet, arguments)) * (
        WATCHED_S + max(travel_timeout_s(sheet, end) for end in End) / 4
    )


def _stop(sheet: Sheet) -> tuple[Act, ...]:
    """STOP in each direction that it stops, then the ESD at the unit, then its reset."""
    stops = {End.OPEN: sheet.behaviour.stop_stops_opening, End.CLOSED: sheet.behaviour.stop_stops_closing}
    away_first = (End.OPEN, End.CLOSED) if safe_end_of(sheet) is End.CLOSED else (End.CLOSED, End.OPEN)
    jogs = [_jogged(end, f"stop {_WAY[end]}", "then press STOP.", _STOPPED) for end in away_first if stops[end]]
    return (
        *jogs,
        Act(id="esd", words="Press the ESD at the unit.", follows=Follows.SAFE),
        Act(id="reset", words="Turn the ESD button out, press RESET. No command.", follows=Follows.STAYS),
    )


def _selector(sheet: Sheet) -> tuple[Act, ...]:
    """Each command in each position, from where it must not work and from where it must; STOP always; none stored."""
    away = End.OPEN if safe_end_of(sheet) is End.CLOSED else End.CLOSED
    back = End.CLOSED if away is End.OPEN else End.OPEN
    acts = [_jogged(away, "begin between", "then press STOP: it stands between its ends.", (), remote=False)]
    for position, by in (("LOCAL", ("control room",)), ("OFF", ("control room", "panel")), ("REMOTE", ("panel",))):
        for who in by:
            acts += [_refused(f"{position} {_COMMAND[end]} by {who}", position, who, end) for end in (away, back)]
    stored = Act(
        id="stored command",
        words="In LOCAL the control room sends OPEN and CLOSE once more; then turn to REMOTE. No other command.",
        follows=Follows.STAYS,
        remote=True,
    )
    from_room = Act(
        id="REMOTE by control room",
        words=f"In REMOTE: the control room commands {away.value}; let it run a little, then STOP at the panel.",
        follows=_RUNS[away],
        answers=_STOPPED,
        remote=True,
    )
    return (*acts, stored, from_room)


def _jogs(sheet: Sheet) -> tuple[Act, ...]:
    """A little way each, with the stem looked at: its direction against the command's."""
    first = End.OPEN if safe_end_of(sheet) is End.CLOSED else End.CLOSED
    second = End.CLOSED if first is End.OPEN else End.OPEN
    stops = {End.OPEN: sheet.behaviour.stop_stops_opening, End.CLOSED: sheet.behaviour.stop_stops_closing}
    return tuple(
        _jogged(end, f"jog {_WAY[end]}", "then press STOP. One looks at the stem.", (), stem=True)
        for end in (first, second)
        if stops[end]
    )


def _jogged(
    end: End, name: str, then: str, answers: tuple[str, ...], *, stem: bool = False, remote: bool | None = None
) -> Act:
    words = f"In LOCAL, from the panel: {_COMMAND[end]}, let it run a little, {then}"
    return Act(id=name, words=words, follows=_RUNS[end], answers=answers, stem=stem, remote=remote)


def _refused(name: str, position: str, who: str, end: End) -> Act:
    words = f"Selector in {position}: {_COMMAND[end]} by the {who}. Refused, and reported?"
    return Act(id=name, words=words, follows=Follows.STAYS, answers=_REFUSED, remote=position == "REMOTE")


def _how(act: Act) -> str:
    said = f"({', '.join(act.answers)})" if act.answers else "Say what was done."
    return f"{said} Or: {CANNOT}, and why"


def _stands_still(seen: Onlooker) -> bool:
    recent = [item for item in seen.items if seen.at_ns - item.at_ns <= _STILL_S * 1e9]
    travels = [value for item in recent if isinstance(item, Readings) and (value := item.value("travel")) is not None]
    return not travels or max(travels) - min(travels) <= STILL


_WAY = {End.OPEN: "opening", End.CLOSED: "closing"}
_COMMAND = {End.OPEN: "OPEN", End.CLOSED: "CLOSE"}
_RUNS = {End.OPEN: Follows.OPENS, End.CLOSED: Follows.CLOSES}
_LISTS: Mapping[str, Callable[[Sheet], tuple[Act, ...]]] = {"stop": _stop, "selector": _selector, "jog": _jogs}
