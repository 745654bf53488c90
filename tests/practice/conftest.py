"""What the tests of the practice unit share: the sheet, units made from it, and waiting in unit time."""

from collections.abc import Callable

import pytest

from commission.practice.condition import HEALTHY, Condition
from commission.practice.unit import PracticeUnit, Truth
from commission.sheet import End, Sheet
from tests.practice.made import SHEET, MakeUnit, Until


@pytest.fixture(scope="session")
def sheet() -> Sheet:
    """The sheet of XV-1101."""
    return SHEET


@pytest.fixture
def make_unit(sheet: Sheet) -> MakeUnit:
    """A maker of units: `make_unit("open", friction_factor=2)`."""

    def make(start: str = "closed", **condition: object) -> PracticeUnit:
        found = Condition(**condition) if condition else HEALTHY  # type: ignore[arg-type]  # names checked by Condition
        return PracticeUnit(sheet, condition=found, start=End(start), seed=7)

    return make


@pytest.fixture
def until() -> Until:
    """Seconds until the truth of a unit answers yes; fails at the limit."""

    def wait(unit: PracticeUnit, reached: Callable[[Truth], bool], limit_s: float = 400.0) -> float:
        begun_s = unit.now_s
        while not reached(unit.truth()):
            unit.advance(0.02)
            assert unit.now_s - begun_s <= limit_s, unit.truth()
        return unit.now_s - begun_s

    return wait
