"""A refusal: why something may not be done now, and what would settle it. Shown to people as it stands."""

import msgspec


class Refusal(msgspec.Struct, frozen=True):
    """
    Why not, in words.

    Args:
        reason: What stands against it.

        instead: What would settle it: what to do, or the id of the step to go to.

        wait_s: For a refusal that time alone settles: how long, in unit time; else 0.
    """

    reason: str
    instead: str = ""
    wait_s: float = 0.0

    def __str__(self) -> str:
        return f"{self.reason}. {self.instead}" if self.instead else self.reason
