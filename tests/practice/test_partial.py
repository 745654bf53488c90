"""The unit's own partial stroke, by travel and by time."""

import pytest
from msgspec.structs import replace

from commission.practice.condition import HEALTHY
from commission.practice.partial import PartialStroke, Phase
from commission.practice.settings import settings_of
from commission.sheet import Sheet


def started(sheet: Sheet) -> PartialStroke:
    """One that has just begun."""
    partial = PartialStroke(sheet, settings_of(sheet, HEALTHY))
    partial.start()
    return partial


@pytest.mark.parametrize(
    ("seconds", "travel_pct", "phase", "guarded"),
    [
        (1.0, 99.0, Phase.OUT, False),
        (10.0, 85.0, Phase.BACK, False),
        (10.0, 80.0, Phase.BACK, True),
        (20.0, 90.0, Phase.BACK, True),
    ],
    ids=["on its way", "target", "guard by travel", "guard by time"],
)
def test_turn_round(sheet: Sheet, seconds: float, travel_pct: float, phase: Phase, guarded: bool) -> None:  # noqa: FBT001  # a column of the table
    """Target 15 %, guard 20 % or 20 s (trade guide 10.1)."""
    partial = started(sheet)
    assert partial.scan(seconds, travel_pct) is guarded
    assert partial.phase is phase


def test_not_offered_where_the_sheet_has_none(sheet: Sheet) -> None:
    """A unit without a partial stroke, or one turned by the laptop, does not run one."""
    assert PartialStroke(sheet, settings_of(sheet, HEALTHY)).offered
    without = replace(sheet, partial_stroke=None)
    assert not PartialStroke(without, settings_of(without, HEALTHY)).offered


def test_still_when_not_started(sheet: Sheet) -> None:
    """Nothing happens to one that does not run."""
    partial = PartialStroke(sheet, settings_of(sheet, HEALTHY))
    assert partial.scan(100.0, 0.0) is False
    partial.turn_back()
    assert partial.phase is Phase.NONE
