"""O1 played: what allows it first, then the root valve, then the vent."""

import pytest

from commission.analysis.trip import Side
from commission.analysis.trip_found import FoundSeen, found_figures
from commission.procedures.trip_found import trip_found
from tests.procedures.monitored import Monitored
from tests.procedures.played import play
from tests.sheet.xv import xv_1101


def found(unit: Monitored) -> FoundSeen:
    """Play it."""
    unit.said.setdefault("root shut", ["HV-1101-7, lock 17"])
    seen, begun = play(trip_found(xv_1101(), {"test": "O1 1"}), unit)
    assert isinstance(seen, FoundSeen)
    assert begun.commands == ()
    return seen


def test_the_first_trip_is_kept_from_before_the_vent() -> None:
    """With what made it allowed."""
    unit = Monitored()
    seen = found(unit)
    assert (seen.test, seen.side, seen.why) == ("O1 1", Side.LOW, "")
    assert seen.ready == "The valve stood at its trip position, closed"
    assert seen.seen[0]["pipeline_pressure"].value > 61e5
    assert not seen.seen[0].bit("alarm_low_trip")
    assert seen.seen[-1].bit("alarm_low_trip")
    assert any(note.startswith("LOW TRIP") for note in unit.notes)


def test_a_short_delay_shows() -> None:
    """The planted finding."""
    early, right = (found_figures(found(Monitored(low_s=delay_s)), xv_1101())[0] for delay_s in (0.5, 5.0))
    assert early.unrounded - right.unrounded == pytest.approx(9e5, abs=0.5e5)


def test_a_monitor_that_never_trips_is_vented_past_its_tolerance_and_no_further_waited_for() -> None:
    """Twice the delay past four tolerances."""
    seen = found(Monitored(low_bar=-10.0))
    assert "nothing tripped" in seen.why
    assert seen.seen


def test_already_tripped_is_no_as_found() -> None:
    """Nothing is vented."""
    unit = Monitored()
    unit.latched["low"] = True
    seen = found(unit)
    assert "before anything was vented" in seen.why
    assert not any("Vent the sensing line" in text for text in unit.asked)


def test_a_root_valve_that_does_not_shut_ends_it() -> None:
    """In their words."""
    unit = Monitored()
    unit.said["root shut"] = ["cannot, it is seized"]
    assert "seized" in found(unit).why
