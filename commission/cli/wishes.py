"""What somebody at the keys may wish of practice units: names from the practice units, set-ups for their processes."""

from pathlib import Path
from typing import TYPE_CHECKING

from commission.terminal.wish import Choice, Wish

if TYPE_CHECKING:  # practice is loaded where somebody practises, after the first paint
    from commission.practice.setup import Setup
    from commission.sheet import Sheet

    Practised = tuple[Path, int, Setup | None]


class PracticeWishes:
    """
    Wishes by sheet, each as the sheet says until somebody chooses.

    Args:
        practised: The unit that was named on the command line, with seed and set-up; None where none was.

        checklist: The one that is practised on; the packed one where None.
    """

    def __init__(self, practised: "Practised | None" = None, checklist: Path | None = None) -> None:
        self.checklist = checklist
        self._wishes: dict[Path, Wish] = {}
        self._setups: dict[Path, Setup | None] = {}
        if practised is not None:
            sheet, seed, setup = practised
            self._wishes[sheet] = Wish(seed=seed, beside="as asked for on the command line" if setup else "")
            self._setups[sheet] = setup

    def scenarios(self, sheet: Path) -> tuple[Choice, ...]:
        """Scenarios of this unit."""
        from commission.practice.scenario import load_scenarios  # noqa: PLC0415  # as above

        tag = _sheet(sheet).identity.tag
        return tuple(Choice(found.name, found.about) for found in load_scenarios() if found.unit == tag)

    def faults(self, sheet: Path) -> tuple[Choice, ...]:
        """Faults that this unit can have."""
        from commission.practice.faults import faults_of  # noqa: PLC0415  # as above

        return tuple(Choice(fault.name, fault.words) for fault in faults_of(_sheet(sheet)))

    def of(self, sheet: Path) -> Wish:
        """What this unit is to have."""
        return self._wishes.get(sheet, Wish())

    def setup(self, sheet: Path) -> "Setup | None":
        """The same for the process that serves it; None where it is as its sheet says."""
        return self._setups.get(sheet)

    def take(self, sheet: Path, wish: Wish) -> None:
        """
        Let this unit have it from its next start on.

        What came from the command line stays only while nothing else but the seed is chosen.

        Raises:
            ValueError: there is no such thing, or this unit cannot have it.
        """
        from commission.practice.setup import setup_of  # noqa: PLC0415  # as above

        if wish.scenario or wish.faults:
            self._setups[sheet] = setup_of(_sheet(sheet), wish.scenario, wish.faults)
            wish = Wish(scenario=wish.scenario, faults=wish.faults, seed=wish.seed)
        elif not wish.beside:
            self._setups.pop(sheet, None)
        self._wishes[sheet] = wish


def _sheet(path: Path) -> "Sheet":
    from commission.sheet import load_sheet  # noqa: PLC0415  # as above

    return load_sheet(path)[0]
