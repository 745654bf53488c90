"""
What the wires between contacts and inputs make of the bits: crossed cores, a shared common, a blown fuse, bounce.

Only what the registers show: the unit's own logic goes on seeing the contacts as they are, so that a planted wiring
fault cannot move the valve.
"""

import random
from collections.abc import Mapping

from commission.practice.condition import Condition
from commission.sheet import ROLES, Sheet

_BOUNCE_S = 1.0
_BOUNCE_SHARE = 0.4


class Cores:
    """
    The cores of one unit.

    Args:
        sheet: Which state of a bit is 0 on the wire.

        condition: The planted faults.

        seed: Of the bounce.
    """

    def __init__(self, sheet: Sheet, condition: Condition, seed: int) -> None:
        self._sheet = sheet
        self._condition = condition
        self._random = random.Random(seed)  # noqa: S311  # bounce of a contact, not a secret
        self._rest: dict[str, bool] = {}
        self._last: dict[str, bool] = {}
        self._changed_s: dict[str, float] = {}

    def seen(self, contacts: Mapping[str, bool], now_s: float) -> dict[str, bool]:
        """
        The bits as the inputs see them.

        Args:
            contacts: The contacts themselves, by role.

            now_s: Unit time, for the bounce after a change.
        """
        self._rest = self._rest or dict(contacts)
        bits = dict(contacts)
        for one, other in self._condition.shared_commons:
            bits[other] = contacts[other] ^ (contacts[one] is not self._rest[one])
        for one, other in self._condition.crossed_contacts:
            bits[one], bits[other] = bits[other], bits[one]
        for role in self._condition.inverted_contacts:
            bits[role] = not bits[role]
        for role in self._condition.dead_contacts:
            bits[role] = self._at_zero(role)
        for role in self._condition.bouncing_contacts:
            bits[role] ^= self._bounces(role, bits[role], now_s)
        return bits

    def _at_zero(self, role: str) -> bool:
        point = self._sheet.point(role)
        return point is not None and point.one_means != ROLES[role].true_word

    def _bounces(self, role: str, value: bool, now_s: float) -> bool:  # noqa: FBT001  # the state itself
        if self._last.setdefault(role, value) is not value:
            self._last[role], self._changed_s[role] = value, now_s
        recent = now_s - self._changed_s.get(role, -_BOUNCE_S) < _BOUNCE_S
        return recent and self._random.random() < _BOUNCE_SHARE
