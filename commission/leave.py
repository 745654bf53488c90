"""
Leave to write: the one permission that lets a command reach the unit (safety rule R9).

Never called a permit: that is paper. `walk` fills the slot for one test, `job` empties it on any energy, lock, selector
or session event, `link.write_guard` reads it before each write. A process holds one slot, so there is one open motion.
"""

import msgspec


class Leave(msgspec.Struct, frozen=True):
    """
    What may be written for one test, and until when.

    Args:
        test: Identifies the test, as `K1 close run 2`.

        values: Role of each command point with the values it may be given.

        until_ns: Unit time after which nothing but the safe end's `return` may be written.

        generation: The energy generation it was given in; any energy event makes it stale.

        by: Who said go.

        ranges: Role of a set point with the least and the largest value it may be given.

        returns: Roles that stay allowed after `until_ns`, until the test has ended.
    """

    test: str
    values: dict[str, tuple[int, ...]]
    until_ns: int
    generation: int
    by: str
    returns: tuple[str, ...] = ()
    ranges: dict[str, tuple[int, int]] = {}


class LeaveSlot:
    """The single slot. Everything that cannot be shown to be allowed is refused."""

    def __init__(self) -> None:
        self._leave: Leave | None = None
        self._why_empty = "no test has been given leave"

    @property
    def current(self) -> Leave | None:
        """The leave in force, if any."""
        return self._leave

    @property
    def why_empty(self) -> str:
        """Why there is no leave, in words for the screen."""
        return self._why_empty

    def grant(self, leave: Leave) -> None:
        """
        Put a leave in force.

        Raises:
            RuntimeError: another test still holds the slot.
        """
        if self._leave is not None:
            raise RuntimeError(f"{self._leave.test} still holds leave; one motion at a time")
        self._leave = leave

    def withdraw(self, reason: str) -> Leave | None:
        """Empty the slot and remember why; returns what was withdrawn. Withdrawing twice is harmless."""
        withdrawn, self._leave = self._leave, None
        self._why_empty = reason
        return withdrawn

    def refusal(self, role: str, value: int, now_ns: int, generation: int) -> str | None:
        """
        Why writing `value` to the point with this role is not allowed now, or None where it is.

        Args:
            role: Role of the command point.

            value: The value to be written.

            now_ns: Unit time.

            generation: The energy generation that `job` counts.
        """
        leave = self._leave
        if leave is None:
            return self._why_empty
        if leave.generation != generation:
            return f"the energy state has changed since leave was given for {leave.test}"
        low, high = leave.ranges.get(role, (1, 0))
        if value not in leave.values.get(role, ()) and not low <= value <= high:
            return f"leave for {leave.test} does not cover writing {value} to {role}"
        if now_ns > leave.until_ns and role not in leave.returns:
            return f"leave for {leave.test} has run out"
        return None
