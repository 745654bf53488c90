"""
Times from outside the link, as people type them in: a recorder, the control room's event log, a key, the film clock.

What cannot be a reading is asked again with what was wrong with it; a misread frame of the film is caught by the check
digits that stand beside the time.
"""

import re
from collections.abc import Generator, Mapping

from commission.analysis.film_clock import FilmError, elapsed_s, read_off
from commission.analysis.outside_times import OutsideTimes, Source
from commission.procedures.fail_safe_plan import FailSafePlan
from commission.procedures.onlooker import Onlooker
from commission.procedures.requests import Answer, Ask, Note, Reply, Request
from commission.procedures.wiring_control_room import Clocks

BEGUN, HOME = "begun", "home"
"""Names of the two questions."""

LOST = "lost"
"""Said where a reading was not got: the run is then timed by the samples alone."""

_CLOCK = re.compile(r"(?:(\d{1,2}):)?(\d{1,2}):(\d{2}(?:[.,]\d+)?)")
_SECONDS = re.compile(r"\d+(?:[.,]\d+)?(?:\s*s)?")
_HALF_DAY_S = 43200.0
_HOW = {
    Source.RECORDER: "as the recorder shows it, as 12.34 s or 14:02:11.34",
    Source.LOG: "as the event log has it, as 14:02:11",
    Source.FILM: "as the film shows it, with its check digits, as 04:27.35 30",
}

Typed = Generator[Request, Reply, OutsideTimes | None]


def typed_times(plan: FailSafePlan, arguments: Mapping[str, str]) -> Typed:
    """
    Both readings of the timer that the plan names; None where the samples alone time it, or the readings were lost.

    Args:
        plan: What is being run.

        arguments: Its arguments, with how unit time maps to the control room's clock.
    """
    source = plan.timer.source
    if source not in _HOW:
        return None
    first = "the stem's first motion" if plan.from_motion else "the cause"
    by_link = source is Source.LOG
    while True:
        begun, begun_text = yield from _reading(source, BEGUN, first, may_be_link=by_link)
        if begun_text == LOST:
            return None
        home, home_text = yield from _reading(source, HOME, "the stem home")
        if home_text == LOST or home is None:
            return None
        times = _times(plan, (begun, home), (begun_text, home_text), Clocks.of(arguments))
        if isinstance(times, OutsideTimes):
            return times
        yield Note(f"{times}. Both are asked again", loud=True)


def home_by_key(seen: Onlooker, plan: FailSafePlan, begun_ns: int) -> Typed:
    """The second key, pressed by somebody who sees the stem home; samples go on meanwhile."""
    question = Ask(HOME, "Any key at the very moment that the stem is home.", "key")
    while (yield from seen.look(question)):
        if seen.at_ns - begun_ns > 2 * plan.longest_s * 1e9:
            return None
    home_ns = seen.at_ns if seen.answer is None else seen.answer.at_ns
    typed = (f"{begun_ns / 1e9:.2f} s", f"{home_ns / 1e9:.2f} s")
    return OutsideTimes(
        timer=plan.timer, begun_s=begun_ns / 1e9, home_s=home_ns / 1e9, from_motion=plan.from_motion, typed=typed
    )


def _reading(
    source: Source, name: str, what: str, *, may_be_link: bool = False
) -> Generator[Request, Reply, tuple[float | None, str]]:
    """One reading in seconds of its own clock, with its text; None where it is to be the link's own."""
    other = ", link where only the unit showed it" if may_be_link else ""
    text = f"Its time of {what}, {_HOW[source]} (or: {LOST}{other})"
    while True:
        answer = yield Ask(name, text)
        said = answer.text.strip() if isinstance(answer, Answer) else LOST
        if said.lower() == LOST:
            return None, LOST
        if may_be_link and said.lower() == "link":
            return None, "link"
        try:
            return _seconds(source, said), said
        except ValueError as error:
            yield Note(f"{error}; asked again", loud=True)


def _seconds(source: Source, said: str) -> float:
    """
    A reading in seconds since its clock's zero or midnight.

    Raises:
        ValueError: it is none.
    """
    if source is Source.FILM:
        return read_off(said).seconds
    match = _CLOCK.fullmatch(said)
    if match is not None:
        hours, minutes, seconds = int(match[1] or 0), int(match[2]), float(match[3].replace(",", "."))
        if hours < 24 and minutes < 60 and seconds < 60:
            return hours * 3600 + minutes * 60 + seconds
    elif source is Source.RECORDER and _SECONDS.fullmatch(said):
        return float(said.replace(",", ".").rstrip("s "))
    raise ValueError(f"{said!r} is no time {_HOW[source]}")


def _times(
    plan: FailSafePlan, readings: tuple[float | None, float], typed: tuple[str, str], clocks: Clocks
) -> OutsideTimes | str:
    """Both moments by one clock; what is wrong with them, where something is."""
    begun, home = readings
    if begun is None:
        in_unit_s = _unit_s_of_log(home, clocks)
        if in_unit_s is None:
            return "the control room's clock was never compared with this one: the log needs a beginning of its own"
        return OutsideTimes(timer=plan.timer, begun_s=None, home_s=in_unit_s, typed=typed)
    if plan.timer.source is Source.FILM:
        try:
            home = begun + elapsed_s(read_off(typed[0]), read_off(typed[1]))
        except FilmError as error:
            return str(error)
    elif home < begun - _HALF_DAY_S:
        home += 2 * _HALF_DAY_S  # over midnight
    if not 0 < home - begun < 2 * _HALF_DAY_S:
        return f"{typed[1]} is not later than {typed[0]}"
    return OutsideTimes(
        timer=plan.timer, begun_s=begun, home_s=home, from_motion=plan.from_motion, typed=typed
    )  # fmt: skip


def _unit_s_of_log(of_day_s: float, clocks: Clocks) -> float | None:
    """Unit time, in seconds, of a moment of the control room's clock; the nearest day to the run's own."""
    if clocks.utc_at_0 is None or clocks.offset_s is None:
        return None
    at_0 = clocks.utc_at_0
    midnight = at_0.replace(hour=0, minute=0, second=0, microsecond=0)
    return (midnight - at_0).total_seconds() + of_day_s + clocks.offset_s
