"""O6 played: the transmitter's loop open and shorted, in control."""

from collections.abc import Callable

import msgspec
import pytest

from commission.analysis.wiring import Finding, WiringSeen
from commission.procedures.monitor_loop import monitor_loop
from commission.procedures.requests import Answer, Ask
from commission.sample import Silence
from commission.sheet import Sheet
from commission.sheet.decode import Readings
from tests.procedures.monitored import Monitored
from tests.procedures.played import play
from tests.sheet.xv import xv_1101


def broken(unit: Monitored) -> Monitored:
    """People who open and short its loop: far below its range, or above."""

    def whole(_ask: object) -> None:
        unit.off_bar = 0.0
        unit.latched = dict.fromkeys(unit.latched, False)

    unit.hands["loop open"] = lambda _ask: setattr(unit, "off_bar", -25.0 - unit.bar)
    unit.hands["loop shorted"] = lambda _ask: setattr(unit, "off_bar", 112.5 - unit.bar)
    unit.hands["loop whole"] = whole
    return unit


def looped(unit: Monitored, sheet: Sheet | None = None) -> WiringSeen:
    """Play it."""
    seen, begun = play(monitor_loop(sheet or xv_1101(), {"test": "O6 1"}), broken(unit))
    assert isinstance(seen, WiringSeen)
    assert begun.commands == ()
    assert not begun.moves
    return seen


def wanting(open_loop: str | None, shorted: str | None) -> Sheet:
    """What the sheet wants of a broken loop."""
    sheet = xv_1101()
    assert sheet.monitor is not None
    monitor = msgspec.structs.replace(sheet.monitor, open_loop=open_loop, shorted_loop=shorted)
    return msgspec.structs.replace(sheet, monitor=monitor)


def test_what_the_sheet_wants_comes_each_time_and_is_said() -> None:
    """Open: low trip after its delay. Shorted: high trip."""
    seen = looped(Monitored())
    assert seen.proved
    assert [point.forced for point in seen.points] == ["transmitter loop open", "transmitter loop shorted"]
    assert seen.points[0].seen.startswith("low trip")
    assert seen.points[1].seen.startswith("high trip")


class Slow(Monitored):
    """People who need a minute for whatever they are asked to do."""

    def while_asked(self, question: Ask | None) -> Answer | None:
        """Asked, they go there first."""
        if question is None:
            return super().while_asked(None)
        hand, due_s = self.hands.get(question.id), self.at_s + 60.0
        self.hands[question.id] = lambda ask: self.later.append((due_s, hand, ask)) if hand is not None else None
        said = super().while_asked(question)
        if hand is not None:
            self.hands[question.id] = hand
        return said

    def sample(self) -> Readings | Silence:
        """Then they do it."""
        for due in [due for due in self.later if due[0] <= self.at_s]:
            self.later.remove(due)
            due[1](due[2])
        return super().sample()

    later: list[tuple[float, Callable[[Ask], None], Ask]]


def test_an_alarm_that_stood_before_is_not_the_loops() -> None:
    """Another cause holds the alarm relay; nothing is judged until somebody has been at the loop."""
    unit = Slow()
    unit.later = []
    unit.bits["alarm_relay"] = 0.0
    seen = looped(unit)
    assert seen.proved, seen
    assert unit.at_s > 120


def test_a_trip_where_an_alarm_was_meant_is_a_finding() -> None:
    """A broken wire taken for a low pressure by accident."""
    seen = looped(Monitored(), wanting("alarm", "alarm"))
    assert [point.finding for point in seen.points] == [Finding.NOT_FOLLOWED] * 2
    assert "The sheet wants: alarm" in seen.points[0].words


def test_a_dead_wire_that_is_believed_is_a_finding() -> None:
    """Nothing comes at all."""
    unit = Monitored(low_bar=-99.0, high_bar=999.0)
    seen = looped(unit)
    assert not seen.proved
    assert seen.points[0].seen.startswith("nothing")


def test_a_sheet_that_does_not_say_is_told_what_it_does() -> None:
    """State which: somebody has to decide."""
    seen = looped(Monitored(), wanting(None, None))
    assert {point.finding for point in seen.points} == {Finding.PROVES_NOTHING}
    assert "it gives low trip" in seen.points[0].words


@pytest.mark.parametrize("question", ["loop open", "loop shorted"])
def test_what_cannot_be_made_is_no_blank(question: str) -> None:
    """No terminal to reach."""
    unit = Monitored()
    unit.said = {question: ["cannot, sealed terminal box"]}
    seen = looped(unit)
    assert any(point.finding is Finding.NOT_FORCED and "sealed" in point.words for point in seen.points)
