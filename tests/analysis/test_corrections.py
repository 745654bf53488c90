"""
Baseline values brought to the conditions of now: by how much, how unsure, and when nothing may be compared.

The practice unit, which shares no formula with the program, says whether a healthy unit in cold oil stays in the band.
"""

import msgspec
import pytest

from commission.analysis.bands import Conditions
from commission.analysis.baseline import band, compare
from commission.analysis.corrections import DOUBT, Corrector
from commission.figure import Verdict
from commission.practice.condition import Condition
from commission.sheet import End
from tests.analysis.partials import baseline, figures
from tests.analysis.seen import SHEET

REFERENCE = Conditions(oil_c=20.0, supply_v=24.4)
COLD = Conditions(oil_c=-20.0, supply_v=24.4)


def test_the_same_conditions_change_nothing() -> None:
    """No correction and no doubt."""
    same = Corrector(SHEET, REFERENCE)("time_to_target", 10.0, REFERENCE)
    assert (same.change, same.doubt, same.why_not) == (0.0, 0.0, "")


def test_a_correction_is_as_unsure_as_it_is_large_and_widens_the_band() -> None:
    """Slip lies anywhere between laminar and turbulent."""
    found = Corrector(SHEET, Conditions(oil_c=20.0, supply_v=21.0))("return_time", 28.0, REFERENCE)
    assert found.change > 28.0 / 8
    assert found.doubt == found.change * DOUBT
    wide, plain = band("return_time", (30.0,), found.doubt), band("return_time", (30.0,))
    assert wide is not None
    assert plain is not None
    assert float(wide.high or 0) - float(plain.high or 0) == pytest.approx(found.doubt, rel=1e-5)


@pytest.mark.slow
def test_a_healthy_unit_in_cold_oil_is_inside_where_physics_tells_and_not_decided_where_it_does_not() -> None:
    """Forty kelvin colder: out and back are corrected; the dead time, which grows by half a second, is not decided."""
    found = figures(Condition(oil_c=-20.0), seed=1)
    rows = {row.figure: row for row in compare(found.values(), baseline(), 0.2, "", Corrector(SHEET, COLD))}
    for name in ("time_to_target", "speed", "return_time", "out_pressure_10_pct", "final_travel"):
        assert rows[name].verdict == Verdict.PASS, rows[name]
    assert rows["dead_time"].verdict == Verdict.NOT_DECIDED
    assert rows["dead_time"].why.endswith("how the dead time follows that is not known")
    assert rows["return_time"].conditions == "oil 20.0 to -20.0 °C, supply 24.4 to 24.4 V"
    assert float(rows["return_time"].corrected) < -0.5
    assert float(rows["back_time_5_pct"].corrected) < 0, "as the whole way back"
    assert not rows["out_pressure_10_pct"].corrected


@pytest.mark.parametrize(
    ("now", "then", "words"),
    [
        (Conditions(supply_v=24.4), REFERENCE, "the oil temperature now is not known"),
        (REFERENCE, Conditions(oil_c=20.0), "the supply of the baseline is not known"),
        (Conditions(oil_c=-60.0, supply_v=24.4), REFERENCE, "oil table does not tell"),
    ],
    ids=["oil now", "supply then", "outside the table"],
)
def test_what_is_not_known_is_not_decided(now: Conditions, then: Conditions, words: str) -> None:
    """With what lacks, in words."""
    assert words in Corrector(SHEET, now)("time_to_target", 10.0, then).why_not


def test_a_dead_time_is_compared_as_it_stands_while_the_oil_is_alike() -> None:
    """Within 15 K; the turning point and the end at any temperature."""
    near = Corrector(SHEET, Conditions(oil_c=33.0, supply_v=24.4))
    assert near("dead_time", 1.2, REFERENCE).why_not == ""
    assert Corrector(SHEET, COLD)("dead_time", 1.2, REFERENCE).why_not
    assert Corrector(SHEET, COLD)("final_travel", 0.0, REFERENCE).why_not == ""


def test_pressures_of_a_valve_that_leaves_its_closed_end_are_not_decided() -> None:
    """There the whole pressure difference stands across it, and nobody has measured it."""
    actuator = msgspec.structs.replace(SHEET.actuator, fail_position=End.OPEN)
    opens = msgspec.structs.replace(SHEET, actuator=actuator)
    assert "pressure difference" in Corrector(opens, REFERENCE)("out_pressure_5_pct", 5e6, REFERENCE).why_not
    assert Corrector(SHEET, COLD)("breakaway_pressure", 5e6, REFERENCE).why_not == ""
    assert Corrector(SHEET, REFERENCE)("pressure_dead_time", 0.1, REFERENCE).why_not == ""
