"""Tests of what a watch at rest comes to: drift, turns, starts, the unit's window, the leak."""

import math
import random

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.analysis.hold_watch import HoldEnd, HoldObserved, NothingHeld, hold_figures
from commission.figure import Figure
from commission.sample import Silence
from commission.sheet.decode import Reading, Readings
from tests.analysis.seen import SHEET


def watched(
    minutes: float, *, restart_every_s: float = 0.0, counter: bool = True, noise: float = 2e-4, per_hour: float = 0.0
) -> HoldObserved:
    """One reading a second; the motor runs ten seconds at each restart."""
    random_ = random.Random(7)
    seen: list[Readings | Silence] = []
    for second in range(round(60 * minutes) + 1):
        running = bool(restart_every_s) and second % restart_every_s < 10 and second >= restart_every_s
        values = {
            "travel": 0.995 - per_hour * second / 3600 + random_.gauss(0, noise),
            "cylinder_pressure": 110e5 - 200.0 * second + random_.gauss(0, 1e4),
            "oil_temperature": 12.0 + 3 * math.sin(second / 900),
            "motor_running": float(running),
        }
        if counter:
            values["starts_total"] = 40.0 + (second // restart_every_s if restart_every_s else 0)
        at_ns = second * 10**9
        seen.append(Readings(second + 1, at_ns, {name: Reading(v, at_ns, 10**6) for name, v in values.items()}))
    return HoldObserved(test="G9 1", seen=tuple(seen), ended=HoldEnd.DONE)


def by_name(observed: HoldObserved) -> dict[str, Figure]:
    """Its figures."""
    return {figure.name: figure for figure in hold_figures(observed, SHEET)}


def test_a_sound_unit_stays() -> None:
    """Half an hour: no change of travel within its noise, pressure 3.6 bar down, no turn, no start."""
    found = by_name(watched(30))
    assert found["travel_change_held"].unrounded < 3e-4
    assert found["pressure_change_held"].unrounded == pytest.approx(-3.6e5, rel=0.05)
    assert found["turns_count"].unrounded == 0
    assert found["restarts_count"].value == "0"
    assert "30 min" in found["restarts_count"].note
    assert found["starts_per_hour"].unrounded == 0
    assert float(found["starts_per_hour"].expanded_uncertainty) == pytest.approx(0.95 * 2, rel=0.04)
    assert found["starts_in_window_count"].value == "0"
    assert "leak_rate" not in found


def test_drift_is_told_from_temperature() -> None:
    """1 % an hour, while the oil swings by three kelvin."""
    found = by_name(watched(90, per_hour=0.01))
    drift = found["hold_drift"]
    assert drift.unrounded == pytest.approx(-0.01, abs=float(drift.expanded_uncertainty))
    assert "temperature taken off" in drift.note


def test_restarts_give_rate_window_and_leak() -> None:
    """One in ten minutes over an hour: 6 an hour, 6 of 6 in the window, and 77 mL each are 466 mL an hour."""
    found = by_name(watched(61, restart_every_s=600))
    assert found["restarts_count"].value == "6"
    assert found["starts_per_hour"].unrounded == pytest.approx(5.9, abs=0.05)
    assert found["starts_in_window_count"].value == "6"
    assert "6 allowed in 60 min" in found["starts_in_window_count"].note
    assert "the next in" in found["starts_in_window_count"].note
    assert found["leak_rate"].unrounded == pytest.approx(6 * 77e-6, rel=0.02)


def test_without_a_counter_the_contactor_counts() -> None:
    """And without either nothing is said of starts."""
    found = by_name(watched(61, restart_every_s=600, counter=False))
    assert found["restarts_count"].value == "6"
    assert "contactor" in found["restarts_count"].note
    bare = watched(5, counter=False)
    quiet = tuple(
        msgspec.structs.replace(item, by_role={"travel": item.by_role["travel"]})
        for item in bare.seen
        if isinstance(item, Readings)
    )
    assert set(by_name(msgspec.structs.replace(bare, seen=quiet))) == {
        "travel_change_held", "hold_drift", "turns_count",
    }  # fmt: skip


def test_the_counter_misses_nothing_across_a_silence() -> None:
    """Samples of the middle of the watch are gone."""
    whole = watched(61, restart_every_s=600)
    holed = msgspec.structs.replace(whole, seen=whole.seen[:500] + whole.seen[-300:])
    assert by_name(holed)["restarts_count"].value == "6"


def test_a_change_has_no_sign() -> None:
    """Up or down, it is how far it went."""
    for per_hour in (0.5, -0.5):
        figure = by_name(watched(2, per_hour=per_hour))["travel_change_held"]
        assert figure.unrounded > 0
        assert not figure.value.startswith("-")


@given(st.integers(0, 10**15))
@settings(max_examples=10)
def test_another_time_of_day_changes_nothing(shift_ns: int) -> None:
    """Every figure the same, to the last digit."""
    observed = watched(3, restart_every_s=50)
    later = tuple(
        Readings(
            item.number,
            item.at_ns + shift_ns,
            {role: Reading(r.value, r.at_ns + shift_ns, r.half_width_ns) for role, r in item.by_role.items()},
        )
        for item in observed.seen
        if isinstance(item, Readings)
    )
    again = hold_figures(msgspec.structs.replace(observed, seen=later), SHEET)
    for one, other in zip(hold_figures(observed, SHEET), again, strict=True):
        assert (one.value, one.expanded_uncertainty) == (other.value, other.expanded_uncertainty), one.name


def test_too_little_is_no_test() -> None:
    """Two readings."""
    observed = watched(1)
    with pytest.raises(NothingHeld, match="say nothing"):
        hold_figures(msgspec.structs.replace(observed, seen=observed.seen[:2]), SHEET)
