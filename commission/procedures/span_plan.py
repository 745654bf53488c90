"""
What a span test will ask: which points, on which way, moved by whom, read with what; and what this unit does not allow.

From the sheet and the checklist's arguments alone, so that the screen can say before the first point what will be
asked, how long it may take, and whether the meter can decide the limit at all.
"""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from itertools import groupby, pairwise

import msgspec

from commission.analysis.accuracy import AccuracyError
from commission.analysis.decision import Limits, Outlook, can_decide
from commission.analysis.span import Meter, Signal, error_budget, loop_of, meter_of
from commission.sheet import End, Sheet
from commission.sheet.model import Loop

SPAN = "span"
"""Name of the procedure in the catalogue."""

POINTS = "0 25 50 75 100"

NEAR = 0.05
"""The valve counts as standing at a point within 5 % of travel: errors are taken where it stands (common practice)."""

STOP_TAKES_S = 0.5
"""From the sight of a point to the valve's rest: one poll, one exchange, the unit's scan, its dump or pump (common
practice, no source)."""

UNEVEN = 1.5
"""A stroke's fastest part over its mean (a spring on a falling load; common practice, no source)."""

HOLD_S = 300.0
"""What one point may take: the way there, settling, readings by people (common practice, no source)."""

MOST_POINTS = 60


class Leg(msgspec.Struct, frozen=True):
    """One point to be read, and the side that it is approached from."""

    point_pct: float
    up: bool
    cycle: int

    @property
    def words(self) -> str:
        """As `25 % up`."""
        return f"{self.point_pct:g} % {'up' if self.up else 'down'}"


class SpanPlan(msgspec.Struct, frozen=True, kw_only=True):
    """
    A span test as it will be made.

    Args:
        signal: Which loop.

        by_laptop: Whether the valve is moved from here; else people beside it move it, and nothing is sent.

        away: The end that a valve moved from here goes towards.

        legs: Points in order.

        not_tested: What this unit does not allow, each with the reason.

        loop: The loop as the sheet has it.

        meter: What it is read with; None before that is known.

        stem_unit: The unit of the stem's scale.

        room: Whether the control room reads each point aloud.
    """

    signal: Signal
    by_laptop: bool
    away: End
    legs: tuple[Leg, ...]
    not_tested: tuple[str, ...]
    loop: Loop
    meter: Meter | None
    stem_unit: str
    room: bool = False

    @property
    def ways(self) -> str:
        """The points, way by way: `0, 25, 50, 75, 100 % up, 75, 50, 25, 0 % down`."""
        ways = groupby(self.legs, key=lambda leg: (leg.cycle, leg.up))
        return ", ".join(
            f"{', '.join(f'{leg.point_pct:g}' for leg in legs)} % {'up' if up else 'down'}" for (_, up), legs in ways
        )

    @property
    def limits(self) -> Limits:
        """Limits of an error, as fractions of span."""
        share = Decimal(str(self.loop.limit_pct)) / 100
        return Limits(format(-share, "f"), format(share, "f"))


def span_plan(sheet: Sheet, arguments: Mapping[str, str]) -> SpanPlan:
    """
    The plan of a span test.

    Args:
        sheet: The unit's sheet.

        arguments: `signal` (feedback or command), `moved_by` (laptop or people), `points`, `cycles`, `room` (yes where
            the control room reads each point aloud); and once they are known `meter`, `meter_accuracy`,
            `meter_full_scale_ma`, `meter_digit_ma`, `stem_step`.

    Raises:
        ValueError: an argument makes no sense, or the unit cannot be held at any point on any way.
    """
    signal = _signal(arguments.get("signal", "feedback"))
    by_laptop = _moved_by(arguments.get("moved_by", "people"))
    away = End.CLOSED if sheet.actuator.fail_position is End.OPEN else End.OPEN
    points = _points(arguments.get("points", POINTS))
    cycles = _cycles(arguments.get("cycles", "1"), by_laptop=by_laptop)
    legs, not_tested = _legs(sheet, points, cycles, away, by_laptop=by_laptop)
    if not legs:
        raise ValueError(f"this unit cannot be held at a point: {'; '.join(not_tested)}")
    return SpanPlan(
        signal=signal,
        by_laptop=by_laptop,
        away=away,
        legs=legs,
        not_tested=not_tested,
        loop=loop_of(sheet, signal),
        meter=_meter(sheet, arguments),
        stem_unit="deg" if sheet.valve.motion == "quarter-turn" else "mm",
        room=_yes(arguments.get("room", "no")),
    )


def span_longest_s(sheet: Sheet, arguments: Mapping[str, str]) -> float:
    """The longest that a span test may take."""
    protections = sheet.protections
    both_s = protections.travel_timeout_open_s + protections.travel_timeout_close_s
    return len(span_plan(sheet, arguments).legs) * HOLD_S + both_s


def outlook(plan: SpanPlan) -> Outlook | None:
    """Whether the meter can decide the limit for a loop without error; None before the meter is known."""
    if plan.meter is None:
        return None
    worst = max((plan.loop.closed_ma, plan.loop.open_ma))
    unsure = error_budget(plan.meter, plan.loop, worst).expanded() * 100
    return can_decide(0.0, Limits(str(-plan.loop.limit_pct), str(plan.loop.limit_pct)), unsure, "% of span")


def why_not_held(sheet: Sheet, towards: End) -> str:
    """Why the valve cannot be held at points on the way to this end, from the sheet; empty where it can."""
    if sheet.modulating is not None:
        return ""
    behaviour, strokes = sheet.behaviour, sheet.strokes
    opening = towards is End.OPEN
    word = "opening" if opening else "closing"
    if not (behaviour.stop_stops_opening if opening else behaviour.stop_stops_closing):
        return (
            f"stop does not stop {word} ({behaviour.stop_while_opening if opening else behaviour.stop_while_closing})"
        )
    expected_s = (strokes.opening if opening else strokes.closing).expected_s
    past = UNEVEN * STOP_TAKES_S / expected_s
    if past <= NEAR:
        return ""
    return (
        f"{word} takes {expected_s:g} s by the sheet: a stop comes up to {past * 100:.0f} % of travel too late, "
        f"more than the {NEAR * 100:g} % that a point may be off"
    )


def _legs(
    sheet: Sheet, points: tuple[float, ...], cycles: int, away: End, *, by_laptop: bool
) -> tuple[tuple[Leg, ...], tuple[str, ...]]:
    legs: list[Leg] = []
    not_tested: list[str] = []
    for towards in (End.OPEN, End.CLOSED):
        why = why_not_held(sheet, towards)
        if not why and by_laptop and towards is not away:
            why = "the way back is another direction: have it moved at the unit to read it too"
        if why:
            not_tested.append(f"points on the way {'up' if towards is End.OPEN else 'down'} not tested: {why}")
    held = {towards: not any(f"way {way} " in text for text in not_tested) for towards, way in _WAYS}
    for cycle in range(1, cycles + 1):
        legs += [Leg(point, True, cycle) for point in points if held[End.OPEN]]  # noqa: FBT003  # up
        legs += [Leg(point, False, cycle) for point in reversed(points) if held[End.CLOSED]]  # noqa: FBT003
    return tuple(_without_standing(legs)), tuple(not_tested)


_WAYS = ((End.OPEN, "up"), (End.CLOSED, "down"))


def _without_standing(legs: list[Leg]) -> Iterator[Leg]:
    """A point where the valve stands already is not asked for a second time, only because the way turns round there."""
    before: Leg | None = None
    for leg in legs:
        if before is None or leg.point_pct != before.point_pct:
            yield leg
        before = leg


def _signal(text: str) -> Signal:
    try:
        return Signal(text)
    except ValueError:
        raise ValueError(f"signal is feedback or command, not {text!r}") from None


def _moved_by(text: str) -> bool:
    if text not in ("laptop", "people"):
        raise ValueError(f"moved_by is laptop or people, not {text!r}")
    return text == "laptop"


def _yes(text: str) -> bool:
    if text not in ("yes", "no"):
        raise ValueError(f"room is yes or no, not {text!r}")
    return text == "yes"


def _points(text: str) -> tuple[float, ...]:
    try:
        points = tuple(float(word) for word in text.replace("-", " ").split())
    except ValueError:
        raise ValueError(f"points in percent, rising, such as {POINTS!r}, not {text!r}") from None
    rising = all(after > before for before, after in pairwise(points))
    if not rising or not 2 <= len(points) <= MOST_POINTS or not all(0 <= point <= 100 for point in points):
        raise ValueError(f"at least two points from 0 to 100 %, rising, such as {POINTS!r}, not {text!r}")
    return points


def _cycles(text: str, *, by_laptop: bool) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 10:
        raise ValueError(f"cycles is a whole number from 1 to 10, not {text!r}")
    if by_laptop and int(text) > 1:
        raise ValueError("one cycle where the laptop moves the valve: each way of it is confirmed anew")
    return int(text)


def _meter(sheet: Sheet, arguments: Mapping[str, str]) -> Meter | None:
    if not arguments.get("meter_accuracy"):
        return None
    try:
        step = _number(arguments, "stem_step", "1") / sheet.valve.full_travel
        return meter_of(
            arguments.get("meter", "without a number"),
            arguments["meter_accuracy"],
            _number(arguments, "meter_full_scale_ma", "24"),
            _number(arguments, "meter_digit_ma", "0.01"),
            step,
        )
    except AccuracyError as error:
        raise ValueError(f"the meter's accuracy: {error}") from error


def _number(arguments: Mapping[str, str], name: str, usual: str) -> float:
    text = arguments.get(name, usual)
    try:
        number = float(text)
    except ValueError:
        raise ValueError(f"{name} is a number, not {text!r}") from None
    if not 0 < number < 1e6:
        raise ValueError(f"{name} is a number above zero, not {text!r}")
    return number
