"""
What counts as evidence: a fact with its details, and when it is refused.

A lock has a number; a count is a number of people; a reading says what it was read on; a place is the fail position as
seen on the stem, or an engineered block with its number, two names and the approving authority (safety rules R1, R2).
"""

import math
from collections.abc import Iterable, Mapping
from typing import Any

import msgspec

from commission.sheet import Sheet

ZERO_BAR = 0.2
"""A gauge at rest within this reads zero: a class 0.5 gauge of 0 to 40 bar (common practice, no source)."""

DEAD_V = 1.0
"""Below this a conductor is dead (trade guide E5; common practice, no source); the site's own limit wins."""

NO_RISE_MIN = 5.0
"""Minutes without a rise (trade guide E4; common practice, no source)."""


class EnergyError(Exception):
    """An act that the energy rules do not allow now; nothing has changed. The message says what is missing."""


class Fact(msgspec.Struct, frozen=True):
    """
    One piece of evidence as recorded.

    Args:
        fact: Its name, as `locked`, `zero`, `people counted`.

        subject: Id of the source or volume it is about; empty for the unit as a whole.

        by: Whose word it is.

        at_utc: When it was said.

        details: By kind of evidence. `lock`: number. `count`: count. `reading`: bar, read_on (gauge, transmitter or
            test pressure), minutes for `no rise`. `place`: how (fail position or block) with stem_mark, or number,
            names, authority. `names`: text. `meter`: live_before_v, dead_v, live_after_v.
    """

    fact: str
    subject: str
    by: str
    at_utc: str
    details: Mapping[str, Any]


def check(ask: str, fact: Fact, earlier: Iterable[Fact], sheet: Sheet, *, control_off: bool) -> None:
    """
    Refuse a fact whose details do not prove it.

    Args:
        ask: What kind of evidence the stage asks for.

        fact: The fact offered.

        earlier: Facts of the same crossing, in order.

        sheet: The unit's sheet.

        control_off: Whether the unit's control supply is locked off, so that its transmitters say nothing.

    Raises:
        EnergyError: naming what is missing.
    """
    if not fact.by.strip():
        raise EnergyError(f"{fact.fact!r} needs the name of who says so")
    details = fact.details
    if ask == "lock" and not _words(details.get("number")):
        raise EnergyError(f"the lock on {fact.subject} needs its number")
    if ask == "count" and not _is_count(details.get("count")):
        raise EnergyError("the count of people is a whole number, at least 1: you are there")
    if ask == "names" and not _words(details.get("text")):
        raise EnergyError(f"{fact.fact!r} needs a name or a number, not an empty answer")
    if ask == "meter":
        _check_meter(details)
    if ask == "place":
        _check_place(details, sheet)
    if ask == "reading":
        _check_gauge(fact, tuple(earlier), control_off=control_off)


def _number(given: object) -> float | None:
    """The number, or None for what is none: NaN passes every limit, and True is not one bar."""
    if isinstance(given, bool) or not isinstance(given, int | float):
        return None
    try:
        number = float(given)
    except OverflowError:
        return None
    return number if math.isfinite(number) else None


def _words(given: object) -> str:
    """Text, or a number written on a lock, without the space around it; empty for anything else."""
    if isinstance(given, bool) or not isinstance(given, str | int):
        return ""
    return str(given).strip()


def _is_count(given: object) -> bool:
    return isinstance(given, int) and not isinstance(given, bool) and given >= 1


def _check_meter(details: Mapping[str, Any]) -> None:
    readings = [_number(details.get(name)) for name in ("live_before_v", "dead_v", "live_after_v")]
    volts = [abs(reading) for reading in readings if reading is not None]
    if len(volts) < len(readings):
        raise EnergyError(
            "three meter readings in volts: on a live source, on the dead terminals, on the live source again"
        )
    before, dead, after = volts
    if min(before, after) <= DEAD_V:
        raise EnergyError("the meter did not read the live source: it proves nothing")
    if dead > DEAD_V:
        raise EnergyError(f"{dead:g} V on the terminals: not dead")


def _check_place(details: Mapping[str, Any], sheet: Sheet) -> None:
    how = details.get("how")
    if how == "fail position":
        if sheet.actuator.fail_position is None:
            raise EnergyError(
                f"this unit has no fail position at zero pressure ({sheet.actuator.at_zero_pressure}): "
                "fit an engineered block"
            )
        if details.get("stem_mark") != sheet.actuator.fail_position:
            raise EnergyError(
                f"the stem mark must be seen at {sheet.actuator.fail_position}, the fail position; "
                f"it was given as {details.get('stem_mark')!r}"
            )
        return
    if how == "block":
        given = details.get("names")
        names = given if isinstance(given, list | tuple) else ()  # a single text is not a list of its letters
        if len({_words(name).casefold() for name in names} - {""}) < 2:
            raise EnergyError("an engineered block needs two names")
        for field in ("number", "authority"):
            if not _words(details.get(field)):
                raise EnergyError(f"an engineered block needs its {field}")
        return
    raise EnergyError("the valve is at its fail position, or held by an engineered block; nothing else will do")


def _check_gauge(fact: Fact, earlier: tuple[Fact, ...], *, control_off: bool) -> None:
    bar = _number(fact.details.get("bar"))
    if bar is None:
        raise EnergyError(f"{fact.fact!r} of {fact.subject} needs the reading in bar")
    read_on = fact.details.get("read_on")
    if read_on not in ("gauge", "transmitter", "test pressure"):
        raise EnergyError("say what it was read on: gauge, transmitter or test pressure")
    if read_on == "transmitter" and control_off:
        raise EnergyError("control supply is off: its transmitter gives no reading, which is never zero")
    seen = {
        known.fact: float(known.details["bar"])
        for known in earlier
        if known.subject == fact.subject and "bar" in known.details
    }
    if fact.fact == "seen above zero" and bar <= ZERO_BAR:
        raise EnergyError(
            f"{fact.subject} reads {bar:g} bar: not above zero. Prove the gauge with a test pressure first"
        )
    if fact.fact == "seen to fall" and "seen above zero" in seen and bar >= seen["seen above zero"]:
        raise EnergyError(f"{fact.subject} has not fallen: {seen['seen above zero']:g} bar before, {bar:g} bar now")
    if fact.fact in ("zero", "no rise") and abs(bar) > ZERO_BAR:
        raise EnergyError(f"{fact.subject} reads {bar:g} bar, which is not zero")
    if fact.fact == "no rise" and (_number(fact.details.get("minutes")) or 0.0) < NO_RISE_MIN:
        raise EnergyError(
            f"watch {fact.subject} for {NO_RISE_MIN:g} minutes; {fact.details.get('minutes', 0)} is too short"
        )
