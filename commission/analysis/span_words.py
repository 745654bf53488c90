"""
What a loop's errors say in words: reversed, wrong range, clipped, zero, gain, bow, lost motion, and what a trim leaves.

Each sentence names what was seen and what it points to; nothing is said that the meter could not tell. Common practice,
no source, except the failure bands (NAMUR NE 43, see `signal`).
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from statistics import median

import msgspec

from commission.analysis.calibration import Characteristics, PointError, average_curve
from commission.analysis.signal import LoopState, loop_state
from commission.analysis.straight_line import Line, Place, independent_line
from commission.sheet.model import Loop

GROSS_PCT = 5.0
"""A loop that follows another rule than its own does so within this."""

_FLAT = 0.25
"""Between two end points a quarter of the usual rise, or less, is a clipped end."""

NEAR_AN_END_PCT = 15.0
"""A trim at an end is suggested only from readings that came this near to it."""

_CLEAR = 3.0
"""An end is clipped where it is off by three times what the others scatter, or what the meter sees."""


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """
    What the words are made from; every tuple has one entry a reading.

    Args:
        feedback: Whether the current is the output; else the position is.

        loop: The loop as the sheet has it.

        errors: In percent of span.

        currents_ma: By the meter.

        stems_pct: By the stem's scale.

        names: Which point, as `25 % up`.

        unsure_pct: Largest expanded uncertainty of an error.

        register_off_pct: How far the unit's register is from the meter at most; 0 without one.
    """

    feedback: bool
    loop: Loop
    errors: tuple[PointError, ...]
    currents_ma: tuple[float, ...]
    stems_pct: tuple[float, ...]
    names: tuple[str, ...]
    unsure_pct: float
    register_off_pct: float = 0.0

    @property
    def least_pct(self) -> float:
        """What is smaller than this is not spoken of: neither sure nor of weight."""
        return max(self.unsure_pct, self.loop.limit_pct / 4)


def told(seen: Told, known: Characteristics) -> tuple[str, ...]:
    """The sentences, the gravest first; none where the loop is in order."""
    gross = _gross(seen)
    if gross:
        return (gross,)
    return (*_failures(seen), *_clipped(seen), *_shape(seen, known), *_register(seen))


def _gross(seen: Told) -> str:
    """Another rule than the loop's own, where the readings follow it and not the loop's."""
    if len(set(seen.stems_pct)) < 2 or max(abs(known.error) for known in seen.errors) < 2 * GROSS_PCT:
        return ""
    low, high = seen.loop.closed_ma, seen.loop.open_ma
    reversed_ = [
        abs((current - low) / (high - low) * 100 - (100 - stem))
        for current, stem in zip(seen.currents_ma, seen.stems_pct, strict=True)
    ]
    if max(reversed_) < GROSS_PCT:
        return "reversed: it falls where it should rise; swap the sense, not the wires, and prove both ends again"
    from_0 = [
        abs(current / max(low, high) * 100 - stem)
        for current, stem in zip(seen.currents_ma, seen.stems_pct, strict=True)
    ]
    if max(from_0) < GROSS_PCT:
        return f"wrong range: it works as 0 to {max(low, high):g} mA, not as {low:g} to {high:g} mA"
    return ""


def _failures(seen: Told) -> Iterator[str]:
    if not seen.feedback:
        return
    for name, current_ma in zip(seen.names, seen.currents_ma, strict=True):
        state = loop_state(current_ma / 1e3)
        if state in (LoopState.FAILURE_LOW, LoopState.FAILURE_HIGH):
            yield f"{current_ma:.2f} mA at {name} is a failure signal, no position (NE 43)"
        elif state is LoopState.UNDEFINED:
            yield f"{current_ma:.2f} mA at {name} is outside 3.8 to 20.5 mA, where a position is told (NE 43)"


def _clipped(seen: Told) -> Iterator[str]:
    """An end where the output stays while the input goes on: off inwards, where all the others follow one line."""
    curve = average_curve(seen.errors)
    if len(curve) < 4:
        return
    for (at, error), others, inwards in ((curve[0], curve[1:], 1.0), (curve[-1], curve[:-1], -1.0)):
        line = independent_line(others)
        clear = _CLEAR * max(seen.least_pct, abs(line.largest))
        if inwards * (error - line.value(at)) > clear or _is_flat(curve, at):
            yield f"clipped: it stays at {_level(seen, at + error)} towards {at:.0f} %"


def _is_flat(curve: Sequence[Place], end: float) -> bool:
    """Whether the output hardly rises between an end and its neighbour, where it usually does."""
    outputs = [(at, at + error) for at, error in curve]
    rises = [(after[1] - before[1]) / (after[0] - before[0]) for before, after in pairwise(outputs)]
    return (rises[0] if end == curve[0][0] else rises[-1]) < _FLAT * median(rises)


def _level(seen: Told, output_pct: float) -> str:
    if not seen.feedback:
        return f"{output_pct:.1f} % of travel"
    return f"{seen.loop.closed_ma + output_pct / 100 * (seen.loop.open_ma - seen.loop.closed_ma):.2f} mA"


def _shape(seen: Told, known: Characteristics) -> Iterator[str]:
    line, least = known.independent, seen.least_pct
    if line is None:
        return
    ats = [error.at for error in seen.errors]
    yield from _zero_and_gain(known, line.value((min(ats) + max(ats)) / 2), least)
    left = abs(line.largest)
    if left > least:
        yield f"bowed: ±{left:.2f} % would be left after any trim (sensor, linkage or arm)"
    if known.hysteresis is not None and known.hysteresis > least:
        yield f"up and down differ by {known.hysteresis:.2f} %: lost motion in the coupling, or friction"
    if max(known.high, -known.low) > seen.loop.limit_pct / 2 and can_be_trimmed(seen.errors):
        yield _suggested(seen, line)


def _zero_and_gain(known: Characteristics, middle: float, least: float) -> Iterator[str]:
    zero, span = known.zero_error, known.span_error
    if abs(span) <= least:
        if abs(middle) > least:
            yield f"offset: {_signed(middle)} % everywhere, the span is in order"
    elif abs(zero) <= least:
        yield f"gain: the span is {abs(span):.2f} % too {'wide' if span > 0 else 'narrow'}, zero is in order"
    else:
        yield f"zero {_signed(zero)} % and span {_signed(span)} % are both off"


def _suggested(seen: Told, line: Line) -> str:
    span_ma = seen.loop.open_ma - seen.loop.closed_ma
    low, high = (-line.value(at) / 100 * span_ma for at in (0.0, 100.0))
    left = max(abs(known.error) for known in trimmed(seen.errors, line))
    return f"trim by {_signed(low)} mA at closed, {_signed(high)} mA at open: leaves {left:.2f} %"


def _signed(value: float) -> str:
    """With its sign and two places; nothing is never less than nothing."""
    text = f"{value:+.2f}"
    return "+0.00" if text == "-0.00" else text


def _register(seen: Told) -> Iterator[str]:
    if seen.register_off_pct > seen.least_pct:
        yield f"the unit's own register is up to {seen.register_off_pct:.2f} % from the meter"


def can_be_trimmed(errors: Sequence[PointError]) -> bool:
    """Whether the readings reach near enough to both ends to say what to do there."""
    ats = [known.at for known in errors]
    return min(ats) < NEAR_AN_END_PCT and max(ats) > 100 - NEAR_AN_END_PCT


def trimmed(errors: Sequence[PointError], line: Line) -> tuple[PointError, ...]:
    """The errors that are left when zero and span are trimmed along a line."""
    return tuple(msgspec.structs.replace(known, error=known.error - line.value(known.at)) for known in errors)
