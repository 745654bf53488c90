"""Tests of settings as they are told."""

from commission.engineering.topics.protections import protections
from tests.engineering.units import changed_unit, unit_of


def test_the_setting_stands_beside_the_proposal() -> None:
    """What is set is the figure; what follows and how it stands is the note."""
    run = protections(unit_of("xv-1101")).find("setting.run_limit_s")
    assert run is not None
    assert run.text == "300 s"
    assert run.note == "proposed 289 to 385 s; agrees"
    starts = protections(unit_of("xv-1101")).find("setting.starts_allowed")
    assert starts is not None
    assert starts.text == "6"


def test_what_is_lacking_for_them() -> None:
    """The lowest volts of a direct-current motor, the power of any."""
    topic = protections(changed_unit("xv-1101", "supply", lowest_v=None, power_kw=None))
    assert [lack.field for lack in topic.lacks] == ["supply.lowest_v", "supply.power_kw"]
    assert topic.find("setting.starts_allowed") is None
