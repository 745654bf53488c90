"""
A 4–20 mA loop against the stem: what was read at each point, and the figures of it in fractions of span.

`verify` calls `span_figures` again on the record, so it depends on nothing but its arguments. What is said of the
figures in words is in `span_words`, the terms themselves are in `calibration`.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from enum import StrEnum

import msgspec

from commission.analysis.accuracy import Accuracy, parse_accuracy
from commission.analysis.budget import Budget, Line, resolution
from commission.analysis.calibration import (
    Characteristics,
    PointError,
    average_curve,
    characteristics,
    differences,
    differences_in_cycle,
    spreads,
)
from commission.analysis.cycle_doubt import CycleDoubt, rivals
from commission.analysis.span_words import Told, can_be_trimmed, told
from commission.analysis.straight_line import Line as StraightLine
from commission.analysis.wiring import PointSeen
from commission.figure import Figure
from commission.sheet import Sheet
from commission.sheet.model import Loop

METHOD = "span.cycle/2"
LARGEST = "largest_error"
SO_FAR = "largest_error_so_far"
"""The largest error where not every point was read: it can fail, and never pass."""

_MODULATING_FEEDBACK_PCT = 0.5


class Signal(StrEnum):
    """Which loop: position back from the unit, or position asked of it."""

    FEEDBACK = "feedback"
    COMMAND = "command"


class SpanEnd(StrEnum):
    """How the taking of points ended."""

    DONE = "every point was read"
    NOT_READY = "not still at the start end"
    REFUSED = "the unit refused the command"
    NOT_REACHED = "a point was not reached"
    NOT_SETTLED = "the valve or the signal did not settle"
    TOO_LONG = "more than ten minutes since the last movement"


class Meter(msgspec.Struct, frozen=True):
    """The meter in the loop, and the smallest step that the stem's scale can be read to."""

    id: str
    accuracy: Accuracy
    stem_step: float
    """Fraction of full travel."""


class SpanReading(msgspec.Struct, frozen=True, kw_only=True):
    """
    One point as it was read.

    Args:
        point_pct: The point asked for.

        up: Whether it was approached from the closed side.

        cycle: Which cycle, from 1.

        stem: By the stem's scale, as a fraction of travel from closed.

        current_a: By the meter.

        register_a: By the unit's own register of this loop, while it stood still; None without one.

        travel: By the unit's travel register, likewise.
    """

    point_pct: float
    up: bool
    cycle: int
    stem: float
    current_a: float
    register_a: float | None = None
    travel: float | None = None

    @property
    def words(self) -> str:
        """Which point, as `25 % up`."""
        return f"{self.point_pct:g} % {'up' if self.up else 'down'}"


class SpanObserved(msgspec.Struct, frozen=True, kw_only=True):
    """
    What was read of one loop.

    Args:
        test: Names the run.

        signal: Which loop.

        meter: What it was read with.

        readings: In the order they were taken.

        not_tested: Points that this unit does not allow, each with the reason.

        ended: How it ended.

        why: More words about that.

        commanded_by: Who moved the valve.

        room: What the control room read of each point; empty where nobody was asked.
    """

    test: str
    signal: Signal
    meter: Meter
    readings: tuple[SpanReading, ...]
    not_tested: tuple[str, ...]
    ended: SpanEnd
    why: str = ""
    commanded_by: str = "laptop"
    room: tuple[PointSeen, ...] = ()

    @property
    def room_faults(self) -> tuple[str, ...]:
        """What the control room read otherwise, in words; a loop that they read wrongly fails, whatever its errors."""
        return tuple(
            f"control room, {point.forced}: {point.finding}. {point.words}" for point in self.room if not point.is_right
        )

    @property
    def timed_by(self) -> str:
        """What it was read with (safety rule R19 asks the same of a stroke)."""
        return f"meter {self.meter.id} ({self.meter.accuracy.text}) and the stem's scale"


class NothingRead(Exception):  # the trade's word, not a fault of the program
    """No point was read."""


def loop_of(sheet: Sheet, signal: Signal) -> Loop:
    """
    The loop as the sheet has it; the usual one where it says nothing.

    Raises:
        ValueError: the signal is no current.
    """
    found = sheet.feedback_loop if signal is Signal.FEEDBACK else sheet.command_loop
    if found is not None or sheet.modulating is None:
        return found or Loop()
    feedback = signal is Signal.FEEDBACK
    scaled = sheet.modulating.feedback if feedback else sheet.modulating.command
    if scaled.unit != "mA":
        raise ValueError(f"the {signal} is in {scaled.unit}; a span test reads a loop in mA")
    limit_pct = _MODULATING_FEEDBACK_PCT if feedback else Loop().limit_pct
    origin = f"±{limit_pct:g} % of span, modulating (common practice, no source)"
    return Loop(closed_ma=scaled.at_closed, open_ma=scaled.at_open, limit_pct=limit_pct, origin=origin)


def meter_of(identity: str, accuracy: str, full_scale_ma: float, digit_ma: float, stem_step: float) -> Meter:
    """
    A meter from what its data sheet says.

    Raises:
        AccuracyError: the accuracy is not understood, or cannot be used with this range and last digit.
    """
    typed = parse_accuracy(accuracy, unit="mA", low=0.0, high=full_scale_ma, resolution=digit_ma)
    return Meter(identity, typed, stem_step)


def span_share(loop: Loop, current_a: float) -> float:
    """A current as a fraction of travel, as the loop means it."""
    return (current_a * 1e3 - loop.closed_ma) / (loop.open_ma - loop.closed_ma)


def error_budget(meter: Meter, loop: Loop, current_ma: float) -> Budget:
    """What is unsure of one error: the meter's data sheet, its last digit, the stem's scale; in fractions of span."""
    share = 1 / abs(loop.open_ma - loop.closed_ma)
    shown = min(max(current_ma, meter.accuracy.low), meter.accuracy.high)
    return Budget((*meter.accuracy.lines("meter", shown, sensitivity=share), resolution("stem scale", meter.stem_step)))


def point_errors(observed: SpanObserved, loop: Loop) -> tuple[PointError, ...]:
    """Output minus what it should be there, for each reading, in percent of span."""
    return tuple(_error(known, observed.signal, loop) for known in observed.readings)


def span_figures(observed: SpanObserved, sheet: Sheet) -> tuple[Figure, ...]:
    """
    Every figure of a loop: errors, characteristics, suggested trim.

    Args:
        observed: What was read.

        sheet: The unit's sheet, for the loop.

    Returns:
        Errors as fractions of span, currents in amperes; the largest error first.

    Raises:
        NothingRead: no point was read.
    """
    if not observed.readings:
        raise NothingRead(observed.why or observed.ended.value)
    loop = loop_of(sheet, observed.signal)
    errors = point_errors(observed, loop)
    known = characteristics(errors)
    budgets = tuple(error_budget(observed.meter, loop, one.current_a * 1e3) for one in observed.readings)
    words = told(_to_tell(observed, loop, errors, budgets), known)
    return (
        _largest(observed, errors, budgets, words),
        *_of_points(observed, errors, budgets),
        *_of_cycle(known, errors, _doubt(observed.meter, loop)),
        *_registers(observed),
        *(_trim(known, loop, _doubt(observed.meter, loop), _fewest(errors)[0]) if can_be_trimmed(errors) else ()),
    )


def _doubt(meter: Meter, loop: Loop) -> CycleDoubt:
    """What is unsure of one reading, where the meter's data sheet promises least."""
    lines = error_budget(meter, loop, max(loop.closed_ma, loop.open_ma)).lines
    anew = ("last digit", "stem scale")
    return CycleDoubt(
        tuple(line for line in lines if not line.name.endswith(anew)),
        tuple(line for line in lines if line.name.endswith(anew)),
    )


def _error(known: SpanReading, signal: Signal, loop: Loop) -> PointError:
    by_current = span_share(loop, known.current_a)
    error, at = (by_current - known.stem, known.stem)
    if signal is Signal.COMMAND:
        error, at = (known.stem - by_current, by_current)
    return PointError(known.point_pct, known.up, known.cycle, at * 100, error * 100)


def _largest(
    observed: SpanObserved, errors: Sequence[PointError], budgets: Sequence[Budget], words: Sequence[str]
) -> Figure:
    """The error that decides: the one that reaches farthest with its uncertainty."""
    place = max(range(len(errors)), key=lambda i: abs(errors[i].error) / 100 + budgets[i].expanded())
    name = LARGEST if observed.ended is SpanEnd.DONE else SO_FAR
    note = "; ".join((f"at {observed.readings[place].words}", *words))
    near = rivals([abs(error.error) / 100 for error in errors], budgets[place].expanded())
    return budgets[place].figure(name, errors[place].error / 100, "1", METHOD, note=note, largest_of=near)


def reading_name(known: SpanReading) -> str:
    """How a point is named within figure names, as `up_25_pct`, with its cycle from the second on."""
    again = "" if known.cycle == 1 else f"_cycle_{known.cycle}"
    return f"{'up' if known.up else 'down'}_{known.point_pct:g}_pct{again}"


def _of_points(observed: SpanObserved, errors: Sequence[PointError], budgets: Sequence[Budget]) -> Iterator[Figure]:
    stem_budget = Budget((resolution("stem scale", observed.meter.stem_step),))
    for known, error, budget in zip(observed.readings, errors, budgets, strict=True):
        name = reading_name(known)
        yield budget.figure(f"error_{name}", error.error / 100, "1", METHOD)
        meter = Budget(_meter_lines(observed.meter, known.current_a))
        yield meter.figure(f"loop_current_{name}", known.current_a, "A", METHOD)
        yield stem_budget.figure(f"stem_{name}", known.stem, "1", METHOD)


def _meter_lines(meter: Meter, current_a: float) -> tuple[Line, ...]:
    shown = min(max(current_a * 1e3, meter.accuracy.low), meter.accuracy.high)
    return meter.accuracy.lines("meter", shown, sensitivity=1e-3)


def _of_cycle(known: Characteristics, errors: Sequence[PointError], doubt: CycleDoubt) -> Iterator[Figure]:
    each, once, again = [error.error for error in errors], doubt.at_point(), doubt.same_point()
    count, on_a_side = _fewest(errors)
    curve, terminal = average_curve(errors), known.terminal
    sides, off = doubt.same_point(on_a_side), _off(known.independent, signed=False)
    found = [
        ("inaccuracy_high", known.high, once, _rivals(each, once)),
        ("inaccuracy_low", known.low, once, _rivals([-error for error in each], once)),
        ("zero_error", known.zero_error, doubt.at_point(count), 1),
        ("span_error", known.span_error if known.independent else None, doubt.two_points(count), 1),
        ("hysteresis", known.hysteresis, sides, _rivals(differences(errors), sides)),
        ("hysteresis_in_cycle", known.hysteresis_in_cycle, again, _rivals(differences_in_cycle(errors), again)),
        ("repeatability", known.repeatability, again, _rivals(spreads(errors), again) * _pairs(on_a_side)),
        ("linearity_independent", off, doubt.off_best_line((off or 0.0) / 100, count), 1),
    ]
    if known.zero_based is not None and terminal is not None:
        based = doubt.off_based_line(known.zero_based.largest / 100, count)
        by_ends = doubt.off_terminal_line(terminal, curve, count)
        found += [
            ("linearity_zero_based", _off(known.zero_based), based, 1),
            ("linearity_terminal", _off(terminal), by_ends, _rivals(terminal.offs(curve), by_ends)),
        ]
    for name, value, budget, largest_of in found:
        if value is not None:
            yield budget.figure(name, value / 100, "1", METHOD, largest_of=largest_of)


def _rivals(values_pct: Sequence[float], budget: Budget) -> int:
    return rivals(values_pct, budget.expanded() * 100)


def _fewest(errors: Sequence[PointError]) -> tuple[int, int]:
    """The least number of readings that any point has, and that it has from one side."""
    by_point = Counter(error.point for error in errors)
    by_side = Counter((error.point, error.up) for error in errors)
    return min(by_point.values()), min(by_side.values())


def _pairs(count: int) -> int:
    return max(1, count * (count - 1) // 2)


def _off(line: StraightLine | None, *, signed: bool = True) -> float | None:
    """The largest deviation from a line; the independent line is off as far on both sides, so its sign says nothing."""
    if line is None:
        return None
    return line.largest if signed else abs(line.largest)


def _registers(observed: SpanObserved) -> Iterator[Figure]:
    """How far the unit's own register is from the meter, at the point where it is farthest."""
    beside = _beside(observed)
    if not beside:
        return
    place = max(range(len(beside)), key=lambda i: abs(beside[i][1]))
    known, difference_a = beside[place]
    budget = Budget(_meter_lines(observed.meter, known.current_a))
    near = rivals([abs(off) for _, off in beside], budget.expanded())
    yield budget.figure(
        "loop_register_less_meter", difference_a, "A", METHOD, note=f"at {known.words}", largest_of=near
    )  # fmt: skip


def _beside(observed: SpanObserved) -> list[tuple[SpanReading, float]]:
    return [(known, known.register_a - known.current_a) for known in observed.readings if known.register_a is not None]


def _trim(known: Characteristics, loop: Loop, doubt: CycleDoubt, count: int) -> Iterator[Figure]:
    """What to take away at each end so that the largest error left is smallest, and that error."""
    line = known.independent
    if line is None:
        return
    span_a = (loop.open_ma - loop.closed_ma) / 1e3
    trim = Budget(tuple(one.times(span_a) for one in doubt.at_point(count).lines))
    for name, at in (("loop_trim_closed", 0.0), ("loop_trim_open", 100.0)):
        yield trim.figure(name, -line.value(at) / 100 * span_a, "A", METHOD)
    left = abs(line.largest) / 100
    yield doubt.off_best_line(left, count).figure("left_after_trim", left, "1", METHOD)


def _to_tell(observed: SpanObserved, loop: Loop, errors: Sequence[PointError], budgets: Sequence[Budget]) -> Told:
    beside = _beside(observed)
    return Told(
        feedback=observed.signal is Signal.FEEDBACK,
        loop=loop,
        errors=tuple(errors),
        currents_ma=tuple(known.current_a * 1e3 for known in observed.readings),
        stems_pct=tuple(known.stem * 100 for known in observed.readings),
        names=tuple(known.words for known in observed.readings),
        unsure_pct=max(budget.expanded() for budget in budgets) * 100,
        register_off_pct=max((abs(span_share(loop, off + loop.closed_ma / 1e3)) for _, off in beside), default=0.0)
        * 100,
    )
