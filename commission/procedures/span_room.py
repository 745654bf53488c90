"""
A loop's point read in the control room too: value, unit and time read aloud while the valve stands where it was read.

This is point-to-point of an analogue signal (trade guide I4, M1): forced by the valve itself, seen at the unit, read by
the controller, both times kept. Which mistake a wrong value points to is told in `analysis.room_value`.
"""

from collections.abc import Generator, Mapping

import msgspec

from commission.analysis.room_value import LoopPoint, room_value, what_differs
from commission.analysis.span import error_budget
from commission.analysis.wiring import Finding, PointSeen
from commission.procedures.requests import Note, Reply, Request
from commission.procedures.span_plan import Leg, SpanPlan
from commission.procedures.wiring_control_room import Clocks, ReadAloud, read_aloud, with_reading

ROOM = "room"
"""Name of the question."""


class RoomReader:
    """
    The controller, who reads each point of a loop aloud.

    Args:
        plan: The span test; its meter is known.

        arguments: `utc_at_0` and `offset_s` map unit time to the control room's clock; without them times are kept and
            not compared.

    Attributes:
        points: What was read, in order.
    """

    def __init__(self, plan: SpanPlan, arguments: Mapping[str, str]) -> None:
        self._plan = plan
        self._clocks = Clocks.of(arguments)
        self._before: LoopPoint | None = None
        self.points: list[PointSeen] = []

    def read(self, leg: Leg, current_a: float, settled_ns: int) -> Generator[Request, Reply, PointSeen | None]:
        """
        Ask what they read of the loop; None where nobody answers.

        Args:
            leg: The point at which the valve stands.

            current_a: By the meter.

            settled_ns: Unit time from which on it stood still.
        """
        asked = (
            f"{leg.words}: the controller reads aloud value, unit and time, as: 24.9 % 14:02:11. "
            f"Begin with wrong, where it is another tag"
        )
        heard = yield from read_aloud(ROOM, asked, _lacks)
        return None if heard is None else self._seen(leg, current_a, settled_ns, heard)

    def take(self, point: PointSeen | None, current_a: float) -> Generator[Request, Reply, None]:
        """Keep what was read, once it is sure that the valve stood still meanwhile; say aloud what is not so."""
        if point is None:
            return
        room = room_value(point.read_back)
        self._before = None if room is None else LoopPoint(room, current_a)
        self.points.append(point)
        if not point.is_right:
            yield Note(f"NOT SO  in the control room, {point.forced}: {point.words}", loud=True)

    def _seen(self, leg: Leg, current_a: float, settled_ns: int, heard: ReadAloud) -> PointSeen:
        """Between settling and the answer they read: that is our time of it, and its half-width."""
        half_ns = (heard.said.at_ns - settled_ns) // 2
        point = PointSeen(
            role=f"{self._plan.signal.value}_current",
            forced=f"{self._plan.signal.value.capitalize()} at {leg.words}",
            seen=f"{current_a * 1e3:.2f} mA in the loop",
            finding=Finding.RIGHT,
            at_ns=settled_ns + half_ns,
            half_width_ns=half_ns,
        )
        finding, words = self._found(current_a, point, heard)
        seen = with_reading(point, heard, self._clocks)
        return msgspec.structs.replace(seen, finding=finding, words=words)

    def _found(self, current_a: float, point: PointSeen, heard: ReadAloud) -> tuple[Finding, str]:
        room, meter = room_value(heard.text), self._plan.meter
        if heard.is_wrong or room is None or meter is None:
            return Finding.WRONG_TEXT, f"The controller read: {heard.text}. Look at the tag and at the cores."
        unsure = error_budget(meter, self._plan.loop, current_a * 1e3).expanded()
        words = what_differs(self._plan.loop, LoopPoint(room, current_a), self._before, unsure)
        if words:
            return Finding.WRONG_TEXT, f"{words}."
        late = self._clocks.off_words(point.at_ns, heard.time, point.half_width_ns)
        if late:
            return Finding.LATE, f"Their time is {late} than ours, clock offset taken out. Compare the clocks again."
        return Finding.RIGHT, ""


def _lacks(text: str) -> str:
    return "" if room_value(text) is not None else "With value and unit, in % or mA. "
