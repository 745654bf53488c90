"""Tests of what a sheet says of a modulating unit's signals."""

from commission.content import checklists_folder
from commission.sheet import load_sheet

UNITS = checklists_folder() / "units"


def test_a_modulating_unit_names_both_signals() -> None:
    """Command and feedback are 4 to 20 mA, 4 mA closed; a command below 3.6 mA for 2 s is lost."""
    plan = load_sheet(UNITS / "fcv-2204.toml")[0].modulating
    assert plan is not None
    assert (plan.command.unit, plan.command.at_closed, plan.command.at_open) == ("mA", 4.0, 20.0)
    assert (plan.command.lost_below, plan.command.lost_after_s) == (3.6, 2.0)
    assert (plan.feedback.at_closed, plan.feedback.at_open) == (4.0, 20.0)
    assert plan.speed_pct_s * load_sheet(UNITS / "fcv-2204.toml")[0].strokes.closing.expected_s == 100.0


def test_an_on_off_unit_has_none() -> None:
    """It is commanded by contacts."""
    assert load_sheet(UNITS / "xv-1101.toml")[0].modulating is None
