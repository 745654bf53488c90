"""
I3, modulating: prove the set point and its source in control, before they may be used live (safety rules R8 and R14).

Motor and oil are locked off, so nothing can move. The set point is given the measured position and read back from the
unit; the source is taken, seen by its bit, and handed back, seen again.
"""

from collections.abc import Generator

from commission.procedures.full_stroke import watched_roles
from commission.procedures.onlooker import Onlooker
from commission.procedures.pulse_seen import PulseSeen, PulsesSeen
from commission.procedures.requests import (
    SET_POINT,
    Begin,
    Command,
    CommandValue,
    HandBack,
    Note,
    Procedure,
    Reply,
    Request,
    SafeEnd,
    Sent,
    SetPoints,
)
from commission.sample import Outcome
from commission.sheet import Sheet

SEEN_WITHIN_S = 3.0
LONGEST_S = 30.0

FOLLOW, BACK, SHOWS = "command_follow_link", "command_follow_loop", "follows_link"
NEAR_SHARE = 0.01
_BACK_SHARE = 0.001
_BEFORE_S = 1.0


def has_set_point(sheet: Sheet) -> bool:
    """Whether the unit takes set points over the link, and shows whose it follows."""
    return sheet.has(SET_POINT, FOLLOW, BACK, SHOWS, "travel", "command_stop")


def prove_set_point(sheet: Sheet, test: str) -> Procedure[PulsesSeen]:
    """
    The set point, taking its source and handing it back, each seen.

    Args:
        sheet: The unit's sheet.

        test: Names the run.

    Returns:
        What each did.
    """
    yield _begin(sheet, test)
    seen = Onlooker()
    yield from seen.watch_for(_BEFORE_S)
    stands = seen.level("travel")
    if stands is None:
        why = "not tried: travel is not read"
        return PulsesSeen(tuple(PulseSeen(role, proved=False, words=why) for role in (SET_POINT, FOLLOW, BACK)))
    pulses = []
    taken, back = _switched(sheet, seen, FOLLOW, shows=True), _switched(sheet, seen, BACK, shows=False)
    for pulse in (_set(sheet, seen, stands), taken, back):
        one = yield from pulse
        pulses.append(one)
        yield Note(f"{one.role}: {one.words}")
    return PulsesSeen(tuple(pulses))


def _begin(sheet: Sheet, test: str) -> Begin:
    stop, scale = _value(sheet, "command_stop"), raw_of_share(sheet, 1.0)
    return Begin(
        test=test,
        commands=(_value(sheet, FOLLOW), _value(sheet, BACK)),
        safe_end=SafeEnd.STOP,
        safe_command=stop,
        guards={},
        roles=(*watched_roles(sheet), SET_POINT, SHOWS),
        longest_s=LONGEST_S,
        set_points=SetPoints(
            low=0,
            high=scale,
            step=scale,
            per_s=float(scale),
            near=raw_of_share(sheet, NEAR_SHARE),
            scale=float(scale),
        ),
        hand_back=HandBack(_value(sheet, BACK), SHOWS, seen_as=False),
    )


def raw_of_share(sheet: Sheet, share: float) -> int:
    """A fraction of travel as the set point's register takes it."""
    point = sheet.point(SET_POINT)
    return round(share * 100 / (1.0 if point is None else point.scale))


def _set(sheet: Sheet, seen: Onlooker, stands: float) -> Generator[Request, Reply, PulseSeen]:
    """The measured position, read back from the unit."""
    raw = raw_of_share(sheet, min(1.0, max(0.0, stands)))
    sent = yield Command(SET_POINT, raw)
    if not isinstance(sent, Sent) or sent.outcome is not Outcome.ANSWERED:
        return PulseSeen(SET_POINT, proved=False, words=f"was not taken: {getattr(sent, 'reason', '')}")
    yield from seen.watch_for(_BEFORE_S)
    back = seen.value(SET_POINT)
    scale = raw_of_share(sheet, 1.0)
    if back is None or abs(back - raw / scale) > _BACK_SHARE:
        return PulseSeen(SET_POINT, proved=False, words="is not read back from the unit as it was given")
    return PulseSeen(SET_POINT, proved=True, words=f"{back * 100:.2f} %, the measured position, was read back")


def _switched(sheet: Sheet, seen: Onlooker, role: str, *, shows: bool) -> Generator[Request, Reply, PulseSeen]:
    """The source turned, by the bit that shows it."""
    word = "link" if shows else "loop"
    if seen.bit(SHOWS) is shows:
        return PulseSeen(role, proved=False, words=f"not tried: the unit follows its {word} already")
    sent = yield Command(role, _value(sheet, role).value)
    if not isinstance(sent, Sent) or sent.outcome is Outcome.REFUSED:
        return PulseSeen(role, proved=False, words=f"was refused: {getattr(sent, 'reason', '')}")
    while seen.bit(SHOWS) is not shows:
        yield from seen.look()
        if seen.at_ns - sent.at_ns > SEEN_WITHIN_S * 1e9:
            return PulseSeen(role, proved=False, words=f"the unit does not show that it follows its {word}")
    return PulseSeen(role, proved=True, words=f"the unit shows that it follows its {word}")


def _value(sheet: Sheet, role: str) -> CommandValue:
    point = sheet.point(role)
    return CommandValue(role, 1 if point is None else point.value)
