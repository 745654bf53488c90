"""What the fixtures of the practice unit's tests hand out."""

from collections.abc import Callable

from commission.content import checklists_folder
from commission.practice.condition import Condition
from commission.practice.unit import PracticeUnit, Truth
from commission.sheet import End, Sheet, load_sheet

MakeUnit = Callable[..., PracticeUnit]
Until = Callable[..., float]

XV_1101 = checklists_folder() / "units" / "xv-1101.toml"
SHEET = load_sheet(XV_1101)[0]
"""Read once: property tests run a hundred times each."""

FCV = load_sheet(checklists_folder() / "units" / "fcv-2204.toml")[0]
BDV = load_sheet(checklists_folder() / "units" / "bdv-3307.toml")[0]
PCV = load_sheet(checklists_folder() / "units" / "pcv-4410.toml")[0]
SHEETS = {sheet.identity.tag: sheet for sheet in (SHEET, FCV, BDV, PCV)}


def unit_of(sheet: Sheet, start: str = "closed", seed: int = 7, **condition: object) -> PracticeUnit:
    """A unit of any sheet with planted findings."""
    found = Condition(**condition)  # type: ignore[arg-type]  # names checked by Condition
    return PracticeUnit(sheet, condition=found, start=End(start), seed=seed)


def wait(unit: PracticeUnit, reached: Callable[[Truth], bool], limit_s: float = 400.0, step_s: float = 0.02) -> float:
    """Seconds of unit time until the truth answers yes; fails at the limit."""
    begun_s = unit.now_s
    while not reached(unit.truth()):
        unit.advance(step_s)
        assert unit.now_s - begun_s <= limit_s, unit.truth()
    return unit.now_s - begun_s
