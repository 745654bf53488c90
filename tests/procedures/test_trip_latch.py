"""O5 played: five proofs."""

import pytest

from commission.analysis.wiring import Finding, WiringSeen
from commission.procedures.trip_latch import PROOFS, trip_latch
from tests.procedures.monitored import Monitored
from tests.procedures.played import play
from tests.sheet.xv import xv_1101


def latched(unit: Monitored) -> WiringSeen:
    """Play it."""
    unit.said.setdefault("reset while bad", ["nothing"])
    unit.said.setdefault("control room", ["refused both, Mara"])
    unit.said.setdefault("power", ["Juno"])
    seen, begun = play(trip_latch(xv_1101(), {"trip": "high", "test": "O5 1"}), unit)
    assert isinstance(seen, WiringSeen)
    assert begun.commands == ()
    return seen


def test_five_proofs_in_order() -> None:
    """Each with what was seen and said; and it ends reset."""
    unit = Monitored()
    seen = latched(unit)
    assert len(seen.points) == PROOFS
    assert seen.proved
    assert [point.forced for point in seen.points] == [
        "RESET while the pressure is bad",
        "normal pressure again",
        "OPEN and RESET from the control room",
        "control power off and on",
        "RESET at the unit, pressure normal",
    ]
    assert "said: refused both, Mara" in seen.points[2].seen
    assert not any(unit.latched.values())


def test_a_monitor_without_a_latch_lets_go_at_normal_pressure() -> None:
    """It is tripped anew for the others."""
    unit = Monitored()
    unit.latches = False
    unit.said = {"control room": ["taken, Mara"] * 2, "power": ["Juno"] * 2}
    seen = latched(unit)
    assert not seen.proved
    assert {point.forced: point.finding for point in seen.points}["normal pressure again"] is Finding.LET_GO
    assert "does not latch" in seen.words


@pytest.mark.parametrize(
    ("question", "forced"),
    [("control room", "OPEN and RESET from the control room"), ("power", "control power off and on")],
)
def test_what_lets_it_go_is_named(question: str, forced: str) -> None:
    """A reset from the control room; a latch that a loss of power clears."""
    unit = Monitored()
    unit.hands[question] = lambda _ask: unit.latched.update(high=False)
    found = {point.forced: point.finding for point in latched(unit).points}
    assert found.pop(forced) is Finding.LET_GO
    assert set(found.values()) == {Finding.RIGHT}


def test_a_valve_that_moves_by_itself_after_the_reset_is_found() -> None:
    """The motor starts."""
    unit = Monitored()

    def hand(_ask: object) -> None:
        unit.reset()
        if not any(unit.latched.values()):
            unit.bits["motor_running"] = 1.0

    unit.hands["reset"] = hand
    last = latched(unit).points[-1]
    assert last.finding is Finding.MOVED


def test_what_could_not_be_proved_is_no_blank() -> None:
    """Nobody in the control room."""
    unit = Monitored()
    unit.said = {"control room": ["cannot, nobody answers"]}
    seen = latched(unit)
    assert not seen.proved
    assert seen.points[-1].finding is Finding.NOT_FORCED
    assert "nobody answers" in seen.points[-1].words


def test_a_monitor_that_does_not_trip_proves_nothing() -> None:
    """With why."""
    seen = latched(Monitored(high_bar=99.0))
    assert seen.points[0].finding is Finding.NOT_FORCED
    assert "does not trip" in seen.points[0].words
