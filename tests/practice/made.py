"""What the fixtures of the practice unit's tests hand out."""

from collections.abc import Callable

from commission.content import checklists_folder
from commission.practice.unit import PracticeUnit
from commission.sheet import load_sheet

MakeUnit = Callable[..., PracticeUnit]
Until = Callable[..., float]

XV_1101 = checklists_folder() / "units" / "xv-1101.toml"
SHEET = load_sheet(XV_1101)[0]
"""Read once: property tests run a hundred times each."""
