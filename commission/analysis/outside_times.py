"""
Times of a stroke that did not come over the link (safety rule R19): whose they are, and how well they are known.

    link                nothing is typed: samples, and what a gap between them leaves open
    recorder 0.02 s     an independent recorder, with the time between two of its records
    log 1 s             the control room's event log, with its last digit
    key                 a key pressed at the laptop by somebody who sees the stem
    film 30 fps         the film clock, with the film's frames a second

Both readings of one clock have its offset alike, so it drops out. Where a stroke begins by one clock and ends by
another, as by the ESD bit here and the event log there, the comparison of the two by voice comes in with ± 1 s.
"""

import re
from enum import StrEnum

import msgspec

from commission.analysis.budget import Budget, Line, rectangular
from commission.analysis.film_clock import film_lines
from commission.analysis.intervals import Instant
from commission.figure import Figure

METHOD = "outside_times.response/1"
NAME = "response_time_outside"

REACTION_S = 0.3
"""A key is this late or early at the most (common practice, no source)."""

VOICE_S = 1.0
"""Two clocks compared by voice (common practice, no source)."""

_TYPED = re.compile(r"(?P<source>[a-z]+)(?:\s+(?P<number>\d+(?:[.,]\d+)?)\s*(?P<unit>s|ms|fps)?)?")


class Source(StrEnum):
    """What timed a stroke."""

    LINK = "link"
    RECORDER = "recorder"
    LOG = "log"
    KEY = "key"
    FILM = "film"


_SAID = {
    Source.LINK: "samples over the link",
    Source.RECORDER: "independent recorder",
    Source.LOG: "control room's event log",
    Source.KEY: "a key",
    Source.FILM: "film clock",
}


class Timer(msgspec.Struct, frozen=True):
    """
    What times a stroke besides the samples.

    Args:
        source: Which.

        step_s: Seconds between two of its records; for a film between two frames; 0 for link and key.
    """

    source: Source
    step_s: float = 0.0

    @property
    def words(self) -> str:
        """As it stands in the record: `independent recorder, 0.02 s`."""
        step = f", {1 / self.step_s:g} frames/s" if self.source is Source.FILM else f", {self.step_s:g} s"
        return _SAID[self.source] + (step if self.step_s else "")


class OutsideTimes(msgspec.Struct, frozen=True, kw_only=True):
    """
    Two moments of one stroke as they were typed in.

    Args:
        timer: Whose they are.

        begun_s: The first, by its clock; None where the stroke begins by the link's own t0.

        home_s: The second, when the stem was home. By the link's clock where `begun_s` is None.

        from_motion: The first shows the stem's first motion, not the cause: the time is "at least".

        typed: Both as they were typed.
    """

    timer: Timer
    begun_s: float | None
    home_s: float
    from_motion: bool = False
    typed: tuple[str, str] = ("", "")


def timer_of(text: str) -> Timer:
    """
    What is meant by `recorder 0.02 s`, `log`, `film 30 fps`, `key` or `link`.

    Raises:
        ValueError: it is none of them, or its step is missing.
    """
    match = _TYPED.fullmatch(text.strip().lower())
    if match is None or match["source"] not in set(Source):
        raise ValueError(f"{text.strip()!r}: link, recorder 0.02 s, log 1 s, film 30 fps, or key")
    source = Source(match["source"])
    if source in (Source.LINK, Source.KEY):
        return Timer(source)
    if match["number"] is None:
        if source is Source.LOG:
            return Timer(source, 1.0)
        raise ValueError(f"how fine is the {source}: as recorder 0.02 s, or film 30 fps")
    number, unit = float(match["number"].replace(",", ".")), match["unit"] or "s"
    if number <= 0 or (unit == "fps") != (source is Source.FILM):
        raise ValueError(f"{text.strip()!r}: recorder 0.02 s, log 1 s, or film 30 fps")
    return Timer(source, {"s": number, "ms": number / 1000, "fps": 1 / number}[unit])


def outside_figure(times: OutsideTimes, link_t0: Instant | None) -> Figure:
    """
    The response time by these two moments, in seconds, with its budget.

    Args:
        times: As typed.

        link_t0: When the unit showed the cause, for a stroke that begins by the link.

    Raises:
        ValueError: it begins by the link and the link saw no beginning, or it ends before it begins.
    """
    end = lines_of(times.timer, "end")
    if times.begun_s is not None:
        value_s, lines = times.home_s - times.begun_s, (*lines_of(times.timer, "start"), *end)
    elif link_t0 is None:
        raise ValueError("neither the link nor anybody else has seen when it began")
    else:
        value_s = times.home_s - link_t0.at_ns / 1e9
        lines = (*_start_by_link(link_t0), rectangular("clocks compared by voice", VOICE_S), *end)
    if value_s <= 0:
        raise ValueError(f"it ended {-value_s:.2f} s before it began: one of the two readings is wrong")
    notes = [times.timer.words, *(["from first motion: at least this"] if times.from_motion else [])]
    return Budget(lines).figure(
        NAME, value_s, "s", METHOD, note="; ".join(notes), lower_bound_only=times.from_motion
    )  # fmt: skip


def lines_of(timer: Timer, which: str) -> tuple[Line, ...]:
    """What is not known of one moment by this timer, in seconds; `which` is `start` or `end`."""
    match timer.source:
        case Source.FILM:
            return film_lines(which, 1 / timer.step_s)
        case Source.KEY:
            return (rectangular(f"{which}: reaction at the key", REACTION_S),)
        case Source.LOG:
            return (rectangular(f"{which}: last digit of the log", timer.step_s / 2),)
        case Source.RECORDER:
            return (rectangular(f"{which}: time between two records", timer.step_s / 2),)
    return ()


def _start_by_link(t0: Instant) -> tuple[Line, ...]:
    names = (*t0.sources, *("its moment",) * len(t0.widths_ns))
    return tuple(
        rectangular(f"start: {name}", width / 2e9) for name, width in zip(names, t0.widths_ns, strict=False) if width
    )
