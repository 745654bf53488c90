"""
What a modulating valve made of an input that people stepped or ramped with a calibrator: M3 and M4.

The input is read back by the unit itself, so that each step is seen where it counts; its levels are found here. Then
`response` has one step at a time, `small_steps` the places where the valve came to rest.
"""

import math
from collections.abc import Sequence
from enum import StrEnum
from itertools import pairwise

import msgspec

from commission.analysis import edges
from commission.analysis.intervals import between
from commission.analysis.motion import LEAST_NOISE
from commission.analysis.response import NoResponse, StepSeen, TooFewReadings, step_figures
from commission.analysis.small_steps import Settled, dead_band, ramp_hysteresis, resolution
from commission.analysis.span import Signal, loop_of, span_share
from commission.figure import Figure, make_figure
from commission.sample import Silence
from commission.sheet import Sheet
from commission.sheet.decode import Reading, Readings
from commission.sheet.model import Loop

METHOD = "followed.input/1"

LEAST_STEP = 5e-4
"""A change of the input below 0.05 % of span is its own noise (common practice, no source)."""

_NOISES = 6
_LEAST_LEVEL = 3
_AT_REST_SHARE = 0.4
_BIN = 0.005


class FollowEnd(StrEnum):
    """How the following ended."""

    DONE = "people said that the last step has settled"
    TOO_LONG = "nobody said that it is done"


class NothingFollowed(Exception):  # the trade's word, not a fault of the program
    """The input did not change in the way that this test needs, or was not read."""


class InputFollowed(msgspec.Struct, frozen=True, kw_only=True):
    """
    What was seen of an input and of the travel that followed it.

    Args:
        test: Names the run.

        seen: Every sample and every silence, in order.

        ended: How it ended.

        why: More words about that.
    """

    test: str
    seen: tuple[Readings | Silence, ...]
    ended: FollowEnd
    why: str = ""
    timed_by: str = "samples over the link"
    commanded_by: str = "people at the unit"

    def pairs(self, loop: Loop) -> tuple[tuple[Reading, ...], tuple[Reading, ...]]:
        """Input as a fraction of span and travel, from the samples that show both."""
        both = [
            (asked, travel)
            for item in self.seen
            if isinstance(item, Readings)
            and (asked := item.get("command_current")) is not None
            and (travel := item.get("travel")) is not None
        ]
        inputs = tuple(Reading(span_share(loop, one.value), one.at_ns, one.half_width_ns) for one, _ in both)
        return inputs, tuple(travel for _, travel in both)


class Level(msgspec.Struct, frozen=True):
    """Readings `first` to `last` at one level of the input."""

    first: int
    last: int
    share: float


def levels(inputs: Sequence[Reading]) -> tuple[Level, ...]:
    """
    The levels that an input stood at, in order; readings on the way between two levels belong to none.

    Args:
        inputs: The input as a fraction of its span.
    """
    least = max(LEAST_STEP, _NOISES * edges.typical_scatter(inputs))
    found: list[Level] = []
    first = 0
    for place in range(1, len(inputs) + 1):
        if place < len(inputs) and abs(inputs[place].value - inputs[first].value) <= least:
            continue
        if place - first >= _LEAST_LEVEL:
            mean = math.fsum(reading.value for reading in inputs[first:place]) / (place - first)
            found.append(Level(first, place - 1, mean))
        first = place
    return tuple(found)


def response_figures(observed: InputFollowed, sheet: Sheet) -> tuple[Figure, ...]:
    """
    Dead time, T63, T86, T98, overshoot, settling, gain and fitted lag of each step, numbered in order.

    Raises:
        NothingFollowed: the unit shows no input, or it was not stepped.
    """
    inputs, travel, stood = _stood(observed, sheet)
    if len(stood) < 2:
        raise NothingFollowed(f"{observed.test}: the input was not stepped, or not read")
    scan_ns = round(sheet.link.scan_s * 1e9)
    found: list[Figure] = []
    unanswered = 0
    for number, (before, after) in enumerate(pairwise(stood), start=1):
        size = after.share - before.share
        command = between(inputs[before.last], inputs[after.first], scan_ns)
        at_rest = before.last - max(_LEAST_LEVEL, round((before.last - before.first) * _AT_REST_SHARE)) + 1
        seen = StepSeen(command=command, size=size, travel=travel[at_rest : after.last + 1], scan_ns=scan_ns)
        words = f"step {number}, {100 * before.share:.3g} to {100 * after.share:.3g} %"
        try:
            figures = step_figures(seen)
        except TooFewReadings as few:
            raise NothingFollowed(f"{observed.test}: {words}: {few}; read faster, or wait longer") from few
        except NoResponse:
            unanswered += 1
            continue
        found += [_of_step(figure, number, words) for figure in figures]
    note = f"{len(stood) - 1} steps of the input"
    return (*found, make_figure(UNANSWERED, unanswered, 0.0, "1", METHOD, note=note))


UNANSWERED = "steps_unanswered_count"


def _of_step(figure: Figure, number: int, words: str) -> Figure:
    note = "; ".join(part for part in (words, figure.note) if part)
    return msgspec.structs.replace(figure, name=f"{figure.name}_step_{number}", note=note)


def small_step_figures(observed: InputFollowed, sheet: Sheet) -> tuple[Figure, ...]:
    """
    Resolution and dead band from small steps of the input, each left standing until the valve stands still.

    Raises:
        NothingFollowed: the unit shows no input, or no step told either.
    """
    _, travel, stood = _stood(observed, sheet)
    settled, noises = [], []
    for level in stood:
        count = max(2, round((level.last - level.first + 1) * _AT_REST_SHARE))
        resting = travel[level.last - count + 1 : level.last + 1]
        settled.append(Settled(level.share, math.fsum(reading.value for reading in resting) / count))
        noises.append(max(LEAST_NOISE, edges.typical_scatter(resting)) / math.sqrt(count))
    noise = max(noises, default=LEAST_NOISE)
    found, why = [], []
    for figure in (resolution, dead_band):
        try:
            found.append(figure(settled, noise))
        except ValueError as error:
            why.append(str(error))
    if not found:
        raise NothingFollowed(f"{observed.test}: {'; '.join(why)}")
    return tuple(found)


def ramp_figures(observed: InputFollowed, sheet: Sheet) -> tuple[Figure, ...]:
    """
    Hysteresis between a slow ramp of the input up and one down; what the valve lags behind the ramp is in it.

    Raises:
        NothingFollowed: the unit shows no input, or it was not ramped both ways.
    """
    inputs, travel = observed.pairs(loop_of(sheet, Signal.COMMAND))
    if len(inputs) < 3:
        raise NothingFollowed(f"{observed.test}: the input was not read")
    top = max(range(len(inputs)), key=lambda place: inputs[place].value)
    up, down = _binned(inputs[: top + 1], travel[: top + 1]), _binned(inputs[top:], travel[top:])
    noise = max(LEAST_NOISE, edges.typical_scatter(travel))
    try:
        figure = ramp_hysteresis(up, down, noise / math.sqrt(max(1, len(inputs) // (len(up) + len(down) or 1))))
    except ValueError as error:
        raise NothingFollowed(f"{observed.test}: {error}") from None
    lasted_s = (inputs[-1].at_ns - inputs[0].at_ns) / 1e9
    note = f"ramp up and down in {lasted_s:.0f} s; what the valve lags behind it is in this figure"
    return (msgspec.structs.replace(figure, note=note),)


def _binned(inputs: Sequence[Reading], travel: Sequence[Reading]) -> list[Settled]:
    """Means over half a per cent of the input each."""
    grouped: dict[int, list[tuple[float, float]]] = {}
    for asked, reached in zip(inputs, travel, strict=True):
        grouped.setdefault(math.floor(asked.value / _BIN), []).append((asked.value, reached.value))
    return [
        Settled(*(math.fsum(value[place] for value in values) / len(values) for place in (0, 1)))
        for _, values in sorted(grouped.items())
    ]


def _stood(
    observed: InputFollowed, sheet: Sheet
) -> tuple[tuple[Reading, ...], tuple[Reading, ...], tuple[Level, ...]]:  # fmt: skip
    inputs, travel = observed.pairs(loop_of(sheet, Signal.COMMAND))
    return inputs, travel, levels(inputs)
