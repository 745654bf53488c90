"""Safety rule R1: before isolation the valve is at its fail position, or held by an engineered block; else refused."""

import msgspec
import pytest

from commission.energy import EnergyError, EnergyState, Fact, accept, begin, missing
from commission.energy.machine import Energy
from commission.sheet import FailEffect, Sheet, parse_sheet
from commission.walk.gate import refusal
from tests.walk.visits import good_person, texts


@pytest.fixture
def sheet() -> Sheet:
    """The invented XV-1101: spring-return, fails closed, shuts in."""
    return parse_sheet(texts()[0])


def _at_valve_safe(sheet: Sheet) -> Energy:
    energy = begin(Energy(state=EnergyState.LIVE), EnergyState.LOCKED)
    while (need := missing(energy, sheet)[0]).fact != "valve safe":
        energy = accept(energy, sheet, Fact(need.fact, need.subject, "Tess", "", {"text": "Mara Mockford"}))
    return energy


@pytest.mark.parametrize(
    "details",
    [
        {"how": "fail position", "stem_mark": "open"},
        {"how": "fail position"},
        {"how": "jammer"},
        {"how": "block", "number": "12", "names": ["A. Name"], "authority": "P. Exampler"},
        {"how": "block", "number": "12", "names": ["A. Name", "A. Name"], "authority": "P. Exampler"},
        {"how": "block", "number": "12", "names": ["A. Name", "B. Name"], "authority": ""},
        {"how": "block", "number": "", "names": ["A. Name", "B. Name"], "authority": "P. Exampler"},
        {},
    ],
)
def test_r01_isolation_is_refused_away_from_the_fail_position(sheet: Sheet, details: dict[str, object]) -> None:
    """Neither at its fail position nor blocked with number, two names and authority: nothing else will do."""
    with pytest.raises(EnergyError):
        accept(_at_valve_safe(sheet), sheet, Fact("valve safe", "", "Tess", "", details))


@pytest.mark.parametrize(
    "details",
    [
        {"how": "fail position", "stem_mark": "closed"},
        {"how": "block", "number": "12", "names": ["A. Name", "B. Name"], "authority": "P. Exampler"},
    ],
)
def test_r01_the_fail_position_or_an_engineered_block_will_do(sheet: Sheet, details: dict[str, object]) -> None:
    """And only then comes the first lock."""
    energy = accept(_at_valve_safe(sheet), sheet, Fact("valve safe", "", "Tess", "", details))
    assert missing(energy, sheet)[0].fact == "shut down"


def test_r01_a_fail_position_that_shuts_in_is_a_process_movement_of_its_own(sheet: Sheet) -> None:
    """Upstream isolation locked shut, or named permission, comes before it; not where nothing happens to the line."""
    energy = begin(Energy(state=EnergyState.LIVE), EnergyState.LOCKED)
    facts = [need.fact for need in missing(energy, sheet)]
    assert facts.index("process agreed") < facts.index("valve safe")
    actuator = msgspec.structs.replace(sheet.actuator, fail_effect=FailEffect.NONE)
    harmless = msgspec.structs.replace(sheet, actuator=actuator)
    assert "process agreed" not in [need.fact for need in missing(energy, harmless)]


def test_r01_a_unit_without_a_fail_position_is_asked_for_a_block(sheet: Sheet) -> None:
    """The sheet says where line force takes the stem."""
    actuator = msgspec.structs.replace(sheet.actuator, fail_position=None, at_zero_pressure="line force closes it")
    without = msgspec.structs.replace(sheet, actuator=actuator)
    closed = Fact("valve safe", "", "Tess", "", {"how": "fail position", "stem_mark": "closed"})
    with pytest.raises(EnergyError, match=r"line force closes it.*engineered block"):
        accept(_at_valve_safe(without), without, closed)


def test_r01_a_normally_closed_vent_moves_only_with_its_upstream_isolation_recorded_locked_shut() -> None:
    """Any stroke, jog or ESD of it."""
    person = good_person()
    step = person.walk_to("K1")
    job = person.visit.job
    valve = msgspec.structs.replace(job.sheet.valve, normally_closed_vent=True)
    vent = msgspec.structs.replace(job, sheet=msgspec.structs.replace(job.sheet, valve=valve))
    for name in ("J2", "K1", "K4", "K5", "Q3"):
        chosen = msgspec.structs.replace(job.checklist.step(name), needs=())
        assert "upstream isolation" in str(refusal(vent, chosen, person.visit.now))
    assert refusal(job, step, person.visit.now) is None
