"""
Evidence of an energy crossing, read out of the plain words in which people give it.

    word     a word that states what is seen; "yes" and "ok" can be said without looking and are refused
    names    who, or which permit
    lock     "lock 7" or "7"
    count    "4"
    reading  "96 bar", "96 bar transmitter", "test 10 bar"; what it was read on is the gauge unless said
    place    "closed" or "open": the stem mark; or "block 12, A. Name, B. Name, who approved"
    meter    "24.1 0.0 24.1": volts on a live source, on the dead terminals, on the live source again
"""

import re
from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any

from commission.energy import HELD_BY_POWER, Energy, EnergyError, Fact, Need, accept
from commission.quantity import NumberError, UnitError, parse
from commission.sheet import Sheet
from commission.walk.state_line import DUMP_BLOCKED

HOW_TO_GIVE: Mapping[str, str] = {
    "word": "in a few words, what you see or who was told, as: selector in OFF",
    "names": "who says or does so, or the number asked for, as: T. Placeholder",
    "lock": "the number on the lock, as: lock 14",
    "count": "how many people, you included, as: 3",
    "reading": "the reading and its unit, as: 96 bar; say transmitter, or test 10 bar, if not read on the gauge",
    "place": "what the stem mark shows, as: closed; or: block 12, A. Name, B. Name, who approved it",
    "meter": "volts on a live source, on the dead terminals, on the live source again, as: 24.1 0.0 24.1",
}

HOW_THE_DUMP_IS_HELD = "what blocks the dump, as: blocked by screw cap SC-2; or: control power"

EMPTY_WORDS = frozenset({"y", "yes", "ok", "okay", "done", "checked", "check", "set", "x", "true", "n/a", "-", "good"})
"""Answers that can be given without looking."""

_READ_ON = re.compile(r"\b(gauge|transmitter|test pressure|test)\b")
_LOCK = re.compile(r"(?:lock\s*)?(?:no\.?\s*)?#?\s*([\w-]*\d[\w-]*)", re.IGNORECASE)


class EvidenceError(ValueError):
    """The words do not prove what is asked; the message says what does."""


def evidence(energy: Energy, sheet: Sheet, need: Need, text: str, by: str, now: datetime) -> Mapping[str, Any]:
    """
    Details of the fact that these words give.

    Args:
        energy: Where the unit stands, a crossing under way.

        sheet: The unit's sheet.

        need: What is asked.

        text: As typed.

        by: Whose word it is.

        now: UTC.

    Raises:
        EvidenceError: the words cannot be read, or prove nothing; nothing has changed.
    """
    words = " ".join(text.split())
    if not words:
        raise EvidenceError(f"nothing was said; {HOW_TO_GIVE[need.ask]}")
    details = _READERS[need.ask](words, need, energy, now)
    if need.fact == "dump held":
        details = _dump_held(words, sheet)
    try:
        accept(energy, sheet, Fact(need.fact, need.subject, by, now.isoformat(), details))
    except EnergyError as error:
        raise EvidenceError(str(error)) from error
    return details


def how_to_give(need: Need) -> str:
    """What to type for a fact, with an example."""
    return HOW_THE_DUMP_IS_HELD if need.fact == "dump held" else HOW_TO_GIVE[need.ask]


def states_something(words: str) -> bool:
    """Whether the words state something seen, rather than tick it off."""
    return words.strip().strip(".!").lower() not in EMPTY_WORDS and any(letter.isalnum() for letter in words)


def _word(words: str, _need: Need, _energy: Energy, _now: datetime) -> Mapping[str, Any]:
    if not states_something(words):
        raise EvidenceError(f"{words!r} can be said without looking; {HOW_TO_GIVE['word']}")
    return {"text": words}


def _names(words: str, _need: Need, _energy: Energy, _now: datetime) -> Mapping[str, Any]:
    if not states_something(words):
        raise EvidenceError(f"{words!r} names nobody; {HOW_TO_GIVE['names']}")
    return {"text": words}


def _lock(words: str, need: Need, energy: Energy, _now: datetime) -> Mapping[str, Any]:
    match = _LOCK.fullmatch(words)
    if match is None:
        raise EvidenceError(f"{words!r} is no lock number; {HOW_TO_GIVE['lock']}")
    number = match[1]
    recorded = energy.locks.get(need.subject)
    if need.fact == "lock removed" and recorded is not None and recorded.number != number:
        raise EvidenceError(f"another lock than {number} is recorded on {need.subject}: read its number again")
    if need.fact == "locked":
        elsewhere = next((lock.source for lock in energy.locks.values() if lock.number == number), None)
        if elsewhere not in (None, need.subject):
            raise EvidenceError(f"lock {number} is recorded on {elsewhere}: one lock a device")
    return {"number": number}


def _count(words: str, _need: Need, _energy: Energy, _now: datetime) -> Mapping[str, Any]:
    if not words.isdecimal():
        raise EvidenceError(f"{words!r} is not a whole number; {HOW_TO_GIVE['count']}")
    return {"count": int(words)}


def _reading(words: str, need: Need, energy: Energy, now: datetime) -> Mapping[str, Any]:
    match = _READ_ON.search(words.lower())
    said = "gauge" if match is None else match[1]
    number = words if match is None else f"{words[: match.start()]}{words[match.end() :]}".strip()
    try:
        bar = parse(number, "bar").value
    except (NumberError, UnitError) as error:
        raise EvidenceError(f"{error}; {HOW_TO_GIVE['reading']}") from error
    read_on = "test pressure" if said.startswith("test") else said
    details: dict[str, Any] = {"bar": round(bar, 6), "read_on": read_on}
    if need.fact == "no rise":
        details["minutes"] = _minutes_since_zero(need, energy, now)
    return details


def _minutes_since_zero(need: Need, energy: Energy, now: datetime) -> float:
    """The watch of five minutes is timed by the record, not by the person."""
    zero = next((fact for fact in energy.facts if (fact.fact, fact.subject) == ("zero", need.subject)), None)
    if zero is None:
        return 0.0
    return round((now - datetime.fromisoformat(zero.at_utc)).total_seconds() / 60, 2)


def _place(words: str, _need: Need, _energy: Energy, _now: datetime) -> Mapping[str, Any]:
    if words.lower() in ("open", "closed"):
        return {"how": "fail position", "stem_mark": words.lower()}
    if not words.lower().startswith("block"):
        raise EvidenceError(f"{words!r} says no place; {HOW_TO_GIVE['place']}")
    number, *names = [part.strip() for part in words[len("block") :].split(",")]
    if len(names) < 3:
        raise EvidenceError(f"an engineered block needs its number, two names and who approved it; got {words!r}")
    return {"how": "block", "number": number, "names": names[:2], "authority": ", ".join(names[2:])}


def _meter(words: str, _need: Need, _energy: Energy, _now: datetime) -> Mapping[str, Any]:
    parts = re.split(r"[\s;/]+", re.sub(r"\s*V\b", "", words, flags=re.IGNORECASE).strip())
    if len(parts) != 3:
        raise EvidenceError(f"three readings are needed, not {len(parts)}; {HOW_TO_GIVE['meter']}")
    try:
        before, dead, after = (parse(part, "V").value for part in parts)
    except (NumberError, UnitError) as error:
        raise EvidenceError(f"{error}; {HOW_TO_GIVE['meter']}") from error
    return {"live_before_v": before, "dead_v": dead, "live_after_v": after}


def _dump_held(words: str, sheet: Sheet) -> Mapping[str, Any]:
    """The two variants of pumping, and a unit that needs neither (safety rule R3)."""
    lowered = words.lower()
    if "block" in lowered:
        return {"how": DUMP_BLOCKED, "text": words}
    if "power" in lowered:
        return {"how": HELD_BY_POWER, "text": words}
    if sheet.behaviour.holds_without_power:
        return {"how": "by itself", "text": words}
    raise EvidenceError(f"without power this unit lets its oil go: say {HOW_THE_DUMP_IS_HELD}")


_READERS: Mapping[str, Callable[[str, Need, Energy, datetime], Mapping[str, Any]]] = {
    "word": _word,
    "names": _names,
    "lock": _lock,
    "count": _count,
    "reading": _reading,
    "place": _place,
    "meter": _meter,
}
