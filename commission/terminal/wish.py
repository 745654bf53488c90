"""
What somebody who practises wishes a practice unit to have: a scenario, faults, another seed of its noise.

The app knows only the names; what they mean is the practice unit's own business.
"""

from pathlib import Path
from typing import Protocol

import msgspec


class Choice(msgspec.Struct, frozen=True):
    """
    One thing a practice unit can have.

    Args:
        name: As on the command line.

        words: What it is, in a sentence.
    """

    name: str
    words: str


class Wish(msgspec.Struct, frozen=True, kw_only=True):
    """
    What a practice unit is to have; as its sheet says where nothing is named.

    Args:
        scenario: By name; empty for none.

        faults: As on the command line, `name=severity`, in the order in which they came.

        seed: Of its noise and of whatever else happens by chance.

        beside: Asked for on the command line beside these, in words.
    """

    scenario: str = ""
    faults: tuple[str, ...] = ()
    seed: int = 0
    beside: str = ""

    @property
    def words(self) -> str:
        """The wish in one line."""
        named = ", ".join(part for part in (self.scenario, *self.faults, self.beside) if part)
        return f"{named or 'as its sheet says'}; seed {self.seed}"


class Wishes(Protocol):
    """What can be wished, and what was, by sheet."""

    @property
    def checklist(self) -> Path | None:
        """What is walked at every practice unit; the packed one where None."""

    def scenarios(self, sheet: Path) -> tuple[Choice, ...]:
        """Scenarios of this unit."""

    def faults(self, sheet: Path) -> tuple[Choice, ...]:
        """Faults that this unit can have."""

    def of(self, sheet: Path) -> Wish:
        """What this unit is to have."""

    def take(self, sheet: Path, wish: Wish) -> None:
        """
        Let this unit have it from its next start on.

        Raises:
            ValueError: there is no such thing, or this unit cannot have it.
        """
