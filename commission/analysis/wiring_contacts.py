"""
What came of operating one contact: the right point in the right sense, another point, the wrong sense, two together, a
companion that did not follow, bounce, or nothing; each in words with what to do about it.

The general rule is the trade's: every input changes only its own bit. What follows it by the unit's own logic (an alarm
bit, the alarm relay) is expected and named, so that it is not mistaken for a shared common.
"""

from collections.abc import Mapping

import msgspec

from commission.analysis.wiring import Finding, PointSeen, line_for, name_of_role, place_words, word_of
from commission.sheet import ROLES, Action, End, RoleKind, Sheet

ALARM_RELAY = "alarm_relay"

ELSEWHERE: Mapping[str, str] = {
    "motor_running": "by the command pulses (I3)",
    ALARM_RELAY: "with each alarm here, its contact in I4",
    "alarm_fluid": "with the float",
    "alarm_not_automatic": "with the selector",
    "alarm_run_time": "by its own cause (N2)",
    "alarm_starts": "by its own cause (N3)",
    "alarm_travel": "by its own cause (N4)",
    "alarm_deviation": "by its own cause (N6)",
    "alarm_signal_lost": "by its own cause (N7)",
    "alarm_low_pressure": "by its own cause (N7)",
    "alarm_supply": "by its own cause (N7)",
    "alarm_oil_cold": "by its own cause (N7)",
    "alarm_high_trip": "by its own cause (O3)",
    "alarm_low_trip": "by its own cause (O4)",
}
"""Points that no hand operates in control, and the step that proves them (ids of the trade's steps)."""


class Operation(msgspec.Struct, frozen=True, kw_only=True):
    """
    Something that a person does to one contact.

    Args:
        id: Names it in answers.

        role: The point that is to change.

        do: What to do, for hands that are busy: one short sentence.

        to: What the point then reads.

        follows: What the unit's own logic does with it, by role; it is expected.

        may_follow: What it may do with it; neither expected nor a fault.

        back: Whether it puts back what the operation before did.
    """

    id: str
    role: str
    do: str
    to: bool
    follows: Mapping[str, bool] = {}
    may_follow: frozenset[str] = frozenset()
    back: bool = False


class Operated(msgspec.Struct, frozen=True, kw_only=True):
    """
    What was seen of one operation.

    Args:
        before: Every bit before it, by role.

        after: Every bit once things had settled.

        changes: How often each bit changed meanwhile.

        unnamed: Addresses that changed and that the sheet does not name, as `discrete 8`.

        resting: Bits that chatter with nobody touching them; they are no evidence of anything.

        window_s: How long was watched after the first change, or after somebody said that it was done.

        at_ns: Unit time of the point's own first change, or of the first change of any; 0 where nothing changed.

        half_width_ns: Half-width of that moment.

        not_done: Why it was not operated; empty where it was.
    """

    before: Mapping[str, bool]
    after: Mapping[str, bool]
    changes: Mapping[str, int]
    unnamed: tuple[str, ...] = ()
    resting: frozenset[str] = frozenset()
    window_s: float = 0.0
    at_ns: int = 0
    half_width_ns: int = 0
    not_done: str = ""


def operations(
    sheet: Sheet, roles: frozenset[str] | None = None, rest: Mapping[str, bool] | None = None
) -> tuple[Operation, ...]:
    """
    Everything that a hand can operate in control without moving the valve, there and back, as far as the unit has it.

    A unit with a fail position stands there in control, so its limit there is the one that is held off, whatever the
    bit says: else a wrong sense would hide itself. A unit without one stands anywhere, and only its bits say where.

    Args:
        sheet: The unit's sheet.

        roles: Only the contacts of these points; all where None.

        rest: The bits with nobody touching anything, for a unit without a fail position.
    """
    found: list[Operation] = []
    for role, there, back, to, may in _contacts(sheet, rest or {}):
        if not sheet.has(role) or (roles is not None and role not in roles):
            continue
        follows = {name: value for name, value in _FOLLOWS.get(role, {}).items() if sheet.has(name)}
        besides = may | _charging(sheet)
        found.append(Operation(id=f"{role} there", role=role, do=there, to=to, follows=follows, may_follow=besides))
        also = frozenset(follows) | besides
        found.append(Operation(id=f"{role} back", role=role, do=back, to=not to, may_follow=also, back=True))
    return tuple(found)


_FOLLOWS: Mapping[str, Mapping[str, bool]] = {
    "remote": {"automatic": False, "alarm_not_automatic": True, ALARM_RELAY: False},
    "automatic": {"alarm_not_automatic": True, ALARM_RELAY: False},
    "low_fluid": {"alarm_fluid": True, ALARM_RELAY: False},
    "esd_healthy": {ALARM_RELAY: False},
}
"""What the unit's own logic does when a contact leaves its place of rest (common practice, no source)."""


def _charging(sheet: Sheet) -> frozenset[str]:
    """
    What a unit does by itself in control that keeps an accumulator charged for both directions: with its oil at zero it
    calls for its pump, which is locked off, until its run limit says so, and again after each reset.
    """
    if sheet.actuator.action is not Action.DOUBLE_ACTING or sheet.accumulator is None:
        return frozenset()
    return frozenset({"motor_running", "alarm_run_time", "alarm_low_pressure", ALARM_RELAY})


def _limits(sheet: Sheet, rest: Mapping[str, bool]) -> list[tuple[str, bool]]:
    """Each limit, the one at the fail position first, and whether the valve holds it made."""
    fail = sheet.actuator.fail_position
    if fail is None:
        return [(f"{end}_limit", rest.get(f"{end}_limit", False)) for end in (End.CLOSED, End.OPEN)]
    return [(f"{fail}_limit", True), (f"{End.OPEN if fail is End.CLOSED else End.CLOSED}_limit", False)]


def _contacts(sheet: Sheet, rest: Mapping[str, bool]) -> list[tuple[str, str, str, bool, frozenset[str]]]:
    """Role, what to do, how to put it back, what it then reads, what may follow."""
    none: frozenset[str] = frozenset()
    alarm = frozenset({"alarm_travel", ALARM_RELAY})
    has_hand_pump = any("hand" in f"{volume.id} {volume.name}" for volume in sheet.volumes)
    contacts = [
        ("remote", "Turn the selector to LOCAL", "Turn the selector back to REMOTE", False, none),
        ("low_fluid", "Lift the level switch's float by its test rod", "Let the float go", True, none),
        (
            "esd_healthy",
            f"Press the local stop ({sheet.behaviour.local_stop})",
            "Turn it out again, press RESET",
            False,
            none,
        ),
    ]
    if has_hand_pump:
        lever = ("automatic", "Take the hand pump's lever out; do not pump", "Stow the hand pump's lever", False, none)
        contacts.insert(1, lever)
    for limit, made in _limits(sheet, rest):
        name = name_of_role(limit)
        do = f"Hold the {name}'s lever off, with a rod" if made else f"Press the {name}'s lever, with a rod"
        contacts.append((limit, do, "Let the lever go", not made, alarm))
    return contacts


def not_operated(sheet: Sheet, done: frozenset[str]) -> tuple[str, ...]:
    """Bits of the sheet that were not operated, each with where it is proved."""
    return tuple(
        f"{name_of_role(point.role)}: {ELSEWHERE.get(point.role, 'nothing here operates it')}"
        for point in sheet.points
        if ROLES[point.role].kind is RoleKind.BIT and point.role not in done
    )


def judge(sheet: Sheet, operation: Operation, seen: Operated) -> PointSeen:
    """
    What came of one operation.

    Args:
        sheet: The unit's sheet, for addresses and senses.

        operation: What was done.

        seen: What was seen of it.
    """
    finding, words, lines = _found(sheet, operation, seen)
    return PointSeen(
        role=operation.role,
        forced=operation.do,
        seen=_seen_words(operation, seen),
        finding=finding,
        words=words,
        correction=lines,
        at_ns=seen.at_ns,
        half_width_ns=seen.half_width_ns,
    )


_Found = tuple[Finding, str, tuple[str, ...]]


def _found(sheet: Sheet, operation: Operation, seen: Operated) -> _Found:
    role = operation.role
    if seen.not_done:
        return Finding.NOT_FORCED, f"Not operated: {seen.not_done}.", ()
    if role in seen.resting:
        return _chatters(operation, seen)
    changed = _changed(seen)
    others = [name for name in changed if name != role and not _is_companion(operation, name)]
    if role not in changed:
        return _own_unchanged(sheet, operation, seen, others)
    if seen.after[role] is not operation.to:
        return _inverted(sheet, operation)
    if others or seen.unnamed:
        return _together(others, seen)
    if seen.changes.get(role, 0) > 1:
        return _bounced(operation, seen)
    missing = [name for name, value in operation.follows.items() if seen.after.get(name, value) is not value]
    return _not_followed(operation, missing) if missing else (Finding.RIGHT, "", ())


def _changed(seen: Operated) -> list[str]:
    """Bits that read otherwise afterwards; one that chatters by itself says nothing."""
    return [
        name for name, value in seen.after.items() if name not in seen.resting and seen.before.get(name) is not value
    ]


def _is_companion(operation: Operation, name: str) -> bool:
    return name in operation.follows or name in operation.may_follow


def _own_unchanged(sheet: Sheet, operation: Operation, seen: Operated, others: list[str]) -> _Found:
    role = operation.role
    own = sheet.point(role)
    where = "" if own is None else f" ({place_words(own)})"
    if len(others) == 1 and own is not None:
        return _wrong_point(sheet, operation, others[0])
    if others:
        names = " and ".join(name_of_role(name) for name in others)
        words = f"{name_of_role(role)} did not change, {names} did. Look for crossed cores and a shared common."
        return Finding.WRONG_POINT, words, ()
    if seen.unnamed:
        words = (
            f"{name_of_role(role)}{where} did not change; {' and '.join(seen.unnamed)}, which the sheet does not name, "
            "did: does the unit's list count from the other of 0 and 1?"
        )
        return Finding.WRONG_POINT, words, ()
    if any(name in _changed(seen) for name in operation.follows):
        words = (
            f"The unit acted on it, {name_of_role(role)}{where} did not change: the wire is whole, the address is not. "
            "Look the point up in the unit's own list."
        )
        return Finding.NONE, words, ()
    words = (
        f"{name_of_role(role)}{where} did not change, nor did anything else. Look for a blown fuse, an open knife "
        "link, a core that is off; then operate it again."
    )
    return Finding.NONE, words, ()


def _wrong_point(sheet: Sheet, operation: Operation, other: str) -> _Found:
    own, found = sheet.point(operation.role), sheet.point(other)
    if own is None or found is None:
        return Finding.WRONG_POINT, f"{name_of_role(other)} changed instead.", ()
    words = (
        f"{name_of_role(other)} ({place_words(found)}) changed instead of {name_of_role(operation.role)} "
        f"({place_words(own)}). Crossed cores: ring them out against the drawing; or the sheet has the wrong address."
    )
    lines = [line_for(sheet, operation.role, "address", found.address)]
    if own.table is not found.table:
        lines.append(line_for(sheet, operation.role, "table", str(found.table)))
    if own.bit != found.bit and found.bit is not None:
        lines.append(line_for(sheet, operation.role, "bit", found.bit))
    return Finding.WRONG_POINT, words, tuple(lines)


def _inverted(sheet: Sheet, operation: Operation) -> _Found:
    point = sheet.point(operation.role)
    role = ROLES[operation.role]
    if point is None:
        return Finding.INVERTED, "", ()
    other = role.false_word if point.one_means == role.true_word else role.true_word
    reads, wanted = word_of(operation.role, true=not operation.to), word_of(operation.role, true=operation.to)
    words = (
        f"It reads {reads} where it should read {wanted}: 1 means {other}, or the contact is fitted the other way. "
        "Settle which before the control room believes it."
    )
    return Finding.INVERTED, words, (line_for(sheet, operation.role, "one_means", other),)


def _together(others: list[str], seen: Operated) -> _Found:
    names = " and ".join([*(name_of_role(name) for name in others), *seen.unnamed])
    words = (
        f"{names} changed with it: a shared common, or two cores bridged. Look at the common of both terminals; one "
        "contact may change only its own point."
    )
    return Finding.TOGETHER, words, ()


def _bounced(operation: Operation, seen: Operated) -> _Found:
    words = (
        f"It changed {seen.changes[operation.role]} times in {seen.window_s:.1f} s: the contact bounces. Look at its "
        "screws, lever and gap; then operate it again."
    )
    return Finding.BOUNCED, words, ()


def _chatters(operation: Operation, seen: Operated) -> _Found:
    name, changes = name_of_role(operation.role), seen.changes.get(operation.role, 0)
    words = (
        f"{name} changed {changes} times in {seen.window_s:.1f} s with nobody touching it: its screw, lever or core is "
        "loose. Lock off, tighten it, prove it again."
    )
    return Finding.BOUNCED, words, ()


def _not_followed(operation: Operation, missing: list[str]) -> _Found:
    wanted = " and ".join(word_of(name, true=operation.follows[name]) for name in missing)
    words = (
        f"{wanted} was to follow and did not. The input is right; look at the unit's alarm settings, and prove the "
        "alarm by its cause before anybody relies on it."
    )
    return Finding.NOT_FOLLOWED, words, ()


def _seen_words(operation: Operation, seen: Operated) -> str:
    if seen.not_done:
        return "not operated"
    changed = _changed(seen)
    names = [operation.role] if operation.role in changed else []
    names += [name for name in changed if name != operation.role]
    return ", ".join([*(word_of(name, true=seen.after[name]) for name in names), *seen.unnamed]) or "no change"
