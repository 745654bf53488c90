"""
M1, M2: read a 4–20 mA loop against the stem at points up and down.

At each point: bring the valve there, or wait until people have (`span_moves`). See it and the signal settle,
hands-free. Then ask what the stem's scale and the meter show, and keep what the unit's own registers showed while it
stood still; where the loop goes to the control room, the controller reads it aloud too (`span_room`). What will be
asked is in `span_plan`; the way back is another direction, and so never part of a run that moves the valve.
"""

from collections.abc import Generator, Mapping

from commission.analysis.span import Signal, SpanEnd, SpanObserved, SpanReading, span_share
from commission.procedures.full_stroke import watched_roles
from commission.procedures.guards import GuardSet, stroke_guards
from commission.procedures.requests import Answer, Ask, Begin, Note, Procedure, Reply, Request, SafeEnd
from commission.procedures.settling import STILL_CURRENT_A, STILL_TRAVEL, Settling
from commission.procedures.span_moves import MOVED, BroughtByPeople, Found, MovedFromHere, Way
from commission.procedures.span_plan import NEAR, Leg, SpanPlan, outlook, span_longest_s, span_plan
from commission.procedures.span_room import RoomReader
from commission.sheet import End, Sheet

STEM = "stem"
METER = "meter"
"""Names of the questions."""

SETTLES_WITHIN_S = 60.0
GAP_BY_PEOPLE_S = 60.0
"""Nothing was commanded from here: a longer silence than in a motion loses nothing."""


def span(sheet: Sheet, arguments: Mapping[str, str]) -> Procedure[SpanObserved]:
    """
    Read a loop at points up and down.

    Args:
        sheet: The unit's sheet.

        arguments: See `span_plan`; `test`, which names the run; and for the control room's times those of `span_room`.

    Returns:
        What was read at each point.

    Raises:
        ValueError: the plan cannot be made, the meter is not known, or the unit lacks a point that is needed.
    """
    run = Span(sheet, span_plan(sheet, arguments), arguments)
    yield run.begin(span_longest_s(sheet, arguments))
    for sentence in (*run.guards.missing, *run.plan.not_tested, run.decides):
        yield Note(sentence)
    yield from run.seen.watch_for(1.0)
    yield from run.seen.see()
    if not_ready := run.why_not_ready():
        yield Note(not_ready)
        return run.observed(SpanEnd.NOT_READY, not_ready)
    for leg in run.plan.legs:
        yield Note(f"asked: {leg.words}", loud=True)
        ended = yield from run.take(leg)
        if ended is not None:
            words = f"{leg.words}: {ended.value}"
            yield Note(words, loud=True)
            return run.observed(ended, words)
    return run.observed(SpanEnd.DONE)


def signal_role(plan: SpanPlan) -> str:
    """The role of the unit's own register of this loop."""
    return f"{plan.signal.value}_current"


class Span:
    """What has been read so far, and how a point is read."""

    def __init__(self, sheet: Sheet, plan: SpanPlan, arguments: Mapping[str, str]) -> None:
        if plan.meter is None:
            raise ValueError("the meter's accuracy is needed, as its data sheet writes it: 0.2 % rdg + 2 counts")
        self.sheet, self.plan, self.test = sheet, plan, arguments.get("test", "span")
        self._room = RoomReader(plan, arguments) if plan.room else None
        self.meter = plan.meter
        self.guards = stroke_guards(sheet, plan.away) if plan.by_laptop else GuardSet({}, (), ())
        self.seen = Settling({signal_role(plan): STILL_CURRENT_A, "travel": STILL_TRAVEL})
        self._from_here = MovedFromHere(sheet, plan.away, self.seen) if plan.by_laptop else None
        self._way: Way = self._from_here or BroughtByPeople(self.seen)
        self._taken: list[SpanReading] = []

    @property
    def decides(self) -> str:
        """Whether the meter can decide the limit, said before the first point."""
        known = outlook(self.plan)
        return "" if known is None else f"meter {self.meter.id} decides: {known.text}"

    def begin(self, longest_s: float) -> Begin:
        """What is about to be done."""
        roles = watched_roles(self.sheet, (signal_role(self.plan), *self.guards.roles))
        if self._from_here is None:
            return Begin(self.test, (), SafeEnd.SEND_NOTHING, None, {}, roles, longest_s, GAP_BY_PEOPLE_S)
        go, stop = self._from_here.commands
        return Begin(self.test, (go, stop), SafeEnd.STOP, stop, self.guards.guards, roles, longest_s)

    def why_not_ready(self) -> str:
        """Why no point can be read from here, or empty."""
        start = End.CLOSED if self.plan.away is End.OPEN else End.OPEN
        if self.plan.by_laptop and not self.seen.bit(f"{start.value}_limit"):
            return f"not at the start end: the {start.value} limit is not made; bring it there at the local panel"
        return ""

    def take(self, leg: Leg) -> Found:
        """One point; how the run ends where it cannot be read."""
        stopped = yield from self._way.come_to(leg)
        if stopped is not None:
            return stopped
        while True:
            if not (yield from self.seen.settle(SETTLES_WITHIN_S)):
                return SpanEnd.NOT_SETTLED
            reading = yield from self._read_off(leg)
            if reading is not None:
                self._taken.append(reading)
                yield Note(f"taken: {self._words(reading)}", loud=True)
                return None
            yield Note("it moved while it was read: read it again")

    def observed(self, ended: SpanEnd, why: str = "") -> SpanObserved:
        """All that was read."""
        return SpanObserved(
            test=self.test,
            signal=self.plan.signal,
            meter=self.meter,
            readings=tuple(self._taken),
            not_tested=self.plan.not_tested,
            ended=ended,
            why=why,
            commanded_by="laptop" if self.plan.by_laptop else "people at the unit",
            room=() if self._room is None else tuple(self._room.points),
        )

    def _read_off(self, leg: Leg) -> Generator[Request, Reply, SpanReading | None]:
        """What people read while it stands still; None where it did not."""
        register_a, travel = self.seen.mean(signal_role(self.plan)), self.seen.mean("travel")
        yield Note(f"settled: {leg.words}{_shown(register_a, travel)}", loud=True)
        if travel is not None and abs(travel - leg.point_pct / 100) > NEAR:
            yield Note(f"{leg.words}: its own travel reads {travel * 100:.1f} %; it is read where it stands", loud=True)
        settled_ns = self.seen.last_ns
        stem = yield from self._ask_number(leg, STEM)
        current_a = (yield from self._ask_number(leg, METER)) / 1e3
        heard = None if self._room is None else (yield from self._room.read(leg, current_a, settled_ns))
        yield from self.seen.see()
        now = self.seen.value("travel")
        if travel is not None and now is not None and abs(now - travel) > MOVED:
            return None
        if self._room is not None:
            yield from self._room.take(heard, current_a)
        return SpanReading(
            point_pct=leg.point_pct,
            up=leg.up,
            cycle=leg.cycle,
            stem=stem / self.sheet.valve.full_travel,
            current_a=current_a,
            register_a=register_a,
            travel=travel,
        )

    def _ask_number(self, leg: Leg, name: str) -> Generator[Request, Reply, float]:
        """A number from a person, asked again where it cannot be one of this place."""
        unit, full = self.plan.stem_unit, self.sheet.valve.full_travel
        what, low, high = "stem's scale, from closed", -0.2 * full, 1.2 * full
        if name == METER:
            unit, what = "mA", f"meter {self.meter.id} in the loop"
            low, high = self.meter.accuracy.low, self.meter.accuracy.high
        while True:
            answer = yield Ask(name, f"{leg.words}: {what}, in {unit}", "number", unit)
            value = answer.value if isinstance(answer, Answer) else None
            if value is not None and low <= value <= high:
                return value
            found = "no number" if value is None else f"{value:g} {unit}"
            yield Note(f"{found} cannot be: {low:g} to {high:g} {unit}; asked again")

    def _words(self, known: SpanReading) -> str:
        off = (span_share(self.plan.loop, known.current_a) - known.stem) * 100
        off = off if self.plan.signal is Signal.FEEDBACK else -off
        return f"{known.words}, stem {known.stem * 100:.1f} %, {known.current_a * 1e3:.2f} mA, {off:+.2f} % of span"


def _shown(register_a: float | None, travel: float | None) -> str:
    words = [] if travel is None else [f"travel {travel * 100:.1f} %"]
    words += [] if register_a is None else [f"register {register_a * 1e3:.2f} mA"]
    return f", {', '.join(words)}" if words else ""
