"""The settings as found and as changed."""

import pytest

from commission.practice.condition import HEALTHY, Condition
from commission.practice.settings import SETTING_ROLES, settings_of
from commission.sheet import Sheet


def test_settings_as_the_sheet_says(sheet: Sheet) -> None:
    """Data sheet values in their roles' units: seconds and pascal."""
    settings = settings_of(sheet, HEALTHY)
    found = [settings.value(role) for role in SETTING_ROLES]
    assert found == [300, 6, 3600, 240, 15, pytest.approx(70e5), pytest.approx(50e5), 3, 5, 0.2, 20, 0, 0]


def test_planted_delay(sheet: Sheet) -> None:
    """The low trip's delay as found."""
    assert settings_of(sheet, Condition(low_trip_delay_s=0.5)).value("trip_low_delay") == 0.5


def test_change(sheet: Sheet) -> None:
    """A limit of nothing is refused, a delay of nothing is not."""
    settings = settings_of(sheet, HEALTHY)
    settings.change("run_limit", 75)
    settings.change("trip_low_delay", 0)
    assert settings.run_limit_s == 75
    with pytest.raises(ValueError, match="run_limit"):
        settings.change("run_limit", 0)
