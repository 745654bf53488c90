"""Tests of oil and heater as they are told."""

from commission.engineering.topics.oil import oil
from tests.engineering.units import changed_unit, unit_of


def test_a_thick_oil_is_said() -> None:
    """Inhibited, too thick to start, thick for a long run, too thin: each in words."""
    inhibited = oil(unit_of("bdv-3307")).find("viscosity.-30")
    assert inhibited is not None
    assert "inhibited" in inhibited.note
    thick = oil(unit_of("fcv-2204")).find("viscosity.-10")
    assert thick is not None
    assert "for long" in thick.note
    start = oil(changed_unit("fcv-2204", "fluid", start_most_mm2_s=500.0)).find("viscosity.-10")
    assert start is not None
    assert start.note.startswith("TOO THICK")
    thin = oil(changed_unit("fcv-2204", "fluid", run_least_mm2_s=30.0)).find("viscosity.45")
    assert thin is not None
    assert thin.note.startswith("TOO THIN")


def test_a_table_that_does_not_reach_is_a_lack() -> None:
    """45 °C lies outside the table of the low-temperature oil; nothing is extrapolated."""
    topic = oil(unit_of("xv-1101"))
    assert topic.find("viscosity.45") is None
    assert any("45 °C" in lack.for_what for lack in topic.lacks)


def test_a_heater_that_is_too_small_is_said() -> None:
    """Power over loss above ambient must reach where it switches on; warm-up never ends then."""
    assert "enough to hold" in _holds(150.0)
    assert "NOT ENOUGH" in _holds(60.0)
    topic = oil(changed_unit("bdv-3307", "environment", heater_w=60.0))
    warm = topic.find("heater.warm.-30")
    assert warm is not None
    assert warm.text == "never"


def _holds(watts: float) -> str:
    found = oil(changed_unit("bdv-3307", "environment", heater_w=watts)).find("heater.holds")
    assert found is not None
    return found.note


def test_a_heater_without_its_numbers_is_a_lack() -> None:
    """Loss and capacity are asked for, each by name."""
    topic = oil(changed_unit("bdv-3307", "environment", heat_loss_w_k=None))
    assert [lack.field for lack in topic.lacks] == ["environment.heat_loss_w_k"]
