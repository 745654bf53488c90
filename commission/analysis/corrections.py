"""
Figures of a partial stroke brought from the conditions of a baseline's run to those of now, where physics tells how.

The change is the sheet's own (`engineering.partial_travel`); how far it may be wrong is as large as the change itself,
for slip lies anywhere between laminar and turbulent, and widens the band. What the sheet cannot tell is compared as it
stands while the oil is alike, and is not decided where it is not. A valve that leaves its open end has hardly a
pressure difference across it on the way, so none is corrected for; from its closed end that is not known, and said.
"""

from collections.abc import Mapping

import msgspec

from commission.analysis.bands import Conditions
from commission.engineering.partial_travel import partial_times
from commission.sheet import End, Sheet

DOUBT = 1.0
"""How far a correction may be wrong, as a share of it (common practice, no source)."""

ALIKE_C = 15.0
"""Oil this near is alike for what is not corrected (common practice, no source)."""

_NO_DIFFERENCE = "the pressure difference across the valve is not known"

FOLLOWS = frozenset({"time_to_target", "speed", "return_time"})
"""Figures that physics brings to other conditions."""

PART_OF = {"out_time_": "time_to_target", "back_time_": "return_time"}
"""Times to a travel on the way, by how their names begin: they follow as the whole way does."""

FOLLOWS_NOT = frozenset({"turning_point", "final_travel"})
"""Figures that conditions do not change; pressures are among them while the pressure difference is the same."""


class Correction(msgspec.Struct, frozen=True):
    """
    What brings a value of a baseline's run to the conditions of now.

    Args:
        change: Added to it, in its unit.

        doubt: Half-width within which that may be wrong.

        why_not: Why nothing may be compared; empty where it may.
    """

    change: float = 0.0
    doubt: float = 0.0
    why_not: str = ""


class Corrector:
    """
    Brings values to the conditions of now.

    Args:
        sheet: The unit's.

        now: Conditions of the run that is compared.
    """

    def __init__(self, sheet: Sheet, now: Conditions) -> None:
        self._sheet = sheet
        self._now = now
        self._known: dict[tuple[float, float], Mapping[str, float] | str] = {}

    def __call__(self, figure: str, value: float, then: Conditions) -> Correction:
        """
        The correction of one value.

        Args:
            figure: Its name.

            value: In its SI unit.

            then: Conditions of its run.
        """
        if figure in FOLLOWS_NOT:
            return Correction()
        if "pressure" in figure and "dead_time" not in figure:
            leaves_closed = self._sheet.actuator.fail_position is End.OPEN
            return Correction(why_not=_NO_DIFFERENCE) if leaves_closed else Correction()
        followed = next((whole for begins, whole in PART_OF.items() if figure.startswith(begins)), figure)
        if followed in FOLLOWS:
            return self._followed(followed, value, then)
        return self._alike(figure, then)

    def words(self, then: Conditions) -> str:
        """From what to what, for people, as `oil 4.0 to 20.5 °C, supply 24.4 to 24.3 V`."""
        oil = f"oil {_shown(then.oil_c)} to {_shown(self._now.oil_c)} °C"
        return f"{oil}, supply {_shown(then.supply_v)} to {_shown(self._now.supply_v)} V"

    def _followed(self, figure: str, value: float, then: Conditions) -> Correction:
        for name, was, now in (
            ("oil temperature", then.oil_c, self._now.oil_c),
            ("supply", then.supply_v, self._now.supply_v),
        ):
            if was is None or now is None:
                return Correction(why_not=f"the {name} {'of the baseline' if was is None else 'now'} is not known")
        before, after = self._expected(then), self._expected(self._now)
        unknown = next((found for found in (before, after) if isinstance(found, str)), "")
        if isinstance(before, str) or isinstance(after, str):
            return Correction() if self._is_alike(then) else Correction(why_not=unknown)
        if figure not in before or figure not in after:
            return self._alike(figure, then)
        change = value * (after[figure] / before[figure] - 1.0)
        return Correction(change, abs(change) * DOUBT)

    def _alike(self, figure: str, then: Conditions) -> Correction:
        if self._is_alike(then):
            return Correction()
        name = figure.replace("_", " ")
        return Correction(why_not=f"{self.words(then)}: how the {name} follows that is not known")

    def _is_alike(self, then: Conditions) -> bool:
        return then.oil_c is None or self._now.oil_c is None or abs(then.oil_c - self._now.oil_c) <= ALIKE_C

    def _expected(self, at: Conditions) -> Mapping[str, float] | str:
        key = (at.oil_c or 0.0, at.supply_v or 0.0)
        if key not in self._known:
            try:
                self._known[key] = partial_times(self._sheet, *key)
            except ValueError as error:
                self._known[key] = str(error)
        return self._known[key]


def _shown(value: float | None) -> str:
    return "unknown" if value is None else f"{value:.1f}"
