"""What a modulating valve made of set points that were given from here: step response, resolution and dead band."""

import math
from enum import StrEnum
from itertools import pairwise

import msgspec

from commission.analysis import edges
from commission.analysis.followed import UNANSWERED
from commission.analysis.intervals import Instant
from commission.analysis.motion import LEAST_NOISE
from commission.analysis.response import NoResponse, StepSeen, TooFewReadings, step_figures
from commission.analysis.small_steps import Settled, dead_band, resolution
from commission.figure import Figure, make_figure
from commission.sample import Silence
from commission.sheet import Sheet
from commission.sheet.decode import Reading, Readings

METHOD = "set_points.given/1"

_AT_REST_SHARE = 0.4
_BEFORE_S = 1.5


class SetPointEnd(StrEnum):
    """How the run ended."""

    DONE = "given, taken back, source handed back and read back"
    NOT_READY = "not ready for it"
    NOT_TAKEN = "the source was not taken"
    REFUSED = "a set point was not taken"
    NOT_BACK = "the source was not seen handed back"


class NothingGiven(Exception):  # the trade's word, not a fault of the program
    """No set point was given that anything could be told from."""


class GivenSetPoint(msgspec.Struct, frozen=True):
    """One set point: as a fraction of travel, and when it reached the unit."""

    share: float
    at_ns: int
    half_width_ns: int


class SetPointsObserved(msgspec.Struct, frozen=True, kw_only=True):
    """
    A run of set points.

    Args:
        test: Names the run.

        given: Every set point, in order; the first is the measured position.

        seen: Every sample and silence.

        ended: How it ended.

        why: More words about that.
    """

    test: str
    given: tuple[GivenSetPoint, ...]
    seen: tuple[Readings | Silence, ...]
    ended: SetPointEnd
    why: str = ""
    timed_by: str = "samples over the link"
    commanded_by: str = "laptop, set point from the link"

    @property
    def travel(self) -> tuple[Reading, ...]:
        """Travel as it was read."""
        found = (item.get("travel") for item in self.seen if isinstance(item, Readings))
        return tuple(reading for reading in found if reading is not None)


def set_point_figures(observed: SetPointsObserved, sheet: Sheet) -> tuple[Figure, ...]:
    """
    The response of each step that was answered, numbered in order; resolution and dead band where steps tell them.

    Raises:
        NothingGiven: the source was not taken, or nothing was stepped.
    """
    if len(observed.given) < 2 or observed.ended in (SetPointEnd.NOT_READY, SetPointEnd.NOT_TAKEN):
        raise NothingGiven(f"{observed.test}: {observed.why or observed.ended.value}")
    travel, scan_ns = observed.travel, round(sheet.link.scan_s * 1e9)
    found: list[Figure] = []
    unanswered, number = 0, 0
    last_ns = travel[-1].at_ns if travel else 0
    ends = [*(one.at_ns for one in observed.given[1:]), last_ns]
    for (before, now), until_ns in zip(pairwise(observed.given), ends[1:], strict=False):
        size = now.share - before.share
        if abs(size) < _LEAST_STEP:
            continue
        number += 1
        window = tuple(r for r in travel if now.at_ns - _BEFORE_S * 1e9 <= r.at_ns < until_ns)
        command = Instant(now.at_ns, (2 * now.half_width_ns,), sources=("when the set point arrived",))
        words = f"step {number}, {100 * before.share:.3g} to {100 * now.share:.3g} %"
        try:
            figures = step_figures(StepSeen(command=command, size=size, travel=window, scan_ns=scan_ns))
        except TooFewReadings as few:
            raise NothingGiven(f"{observed.test}: {words}: {few}; read faster, or wait longer") from few
        except NoResponse:
            unanswered += 1
            continue
        found += [_of_step(figure, number, words) for figure in figures]
    found.append(make_figure(UNANSWERED, unanswered, 0.0, "1", METHOD, note=f"{number} set points stepped"))
    return (*found, *_small_steps(observed))


_LEAST_STEP = 5e-4


def _of_step(figure: Figure, number: int, words: str) -> Figure:
    note = "; ".join(part for part in (words, figure.note) if part)
    return msgspec.structs.replace(figure, name=f"{figure.name}_step_{number}", note=note)


def _small_steps(observed: SetPointsObserved) -> list[Figure]:
    """Resolution and dead band by where the valve came to rest after each set point."""
    travel = observed.travel
    ends = [*(one.at_ns for one in observed.given[1:]), travel[-1].at_ns if travel else 0]
    settled, noise = [], LEAST_NOISE
    for one, until_ns in zip(observed.given, ends, strict=True):
        stood = [reading for reading in travel if one.at_ns <= reading.at_ns < until_ns]
        resting = stood[-max(2, round(len(stood) * _AT_REST_SHARE)) :]
        if len(resting) < 2:
            continue
        settled.append(Settled(one.share, math.fsum(reading.value for reading in resting) / len(resting)))
        noise = max(noise, edges.typical_scatter(resting) / math.sqrt(len(resting)))
    found = []
    for figure in (resolution, dead_band):
        try:
            found.append(figure(settled, noise))
        except (ValueError, IndexError):
            continue
    return found
