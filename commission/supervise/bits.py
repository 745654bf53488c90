"""
Watches the bits of a unit over everything that reads it, so that each change is recorded once, whoever saw it.

A motion and the reading beside the walk take turns; what changed between the last sample of one and the first of the
other is found because both ask here.
"""

from collections import defaultdict

from commission.job.bodies import BitsChanged
from commission.sheet import ROLES, RoleKind
from commission.sheet.decode import Reading, Readings
from commission.supervise.surroundings import Ledger


class BitWatch:
    """
    What each bit was when it was last read.

    Args:
        ledger: Where changes go.
    """

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self._last: dict[str, Reading] = {}

    def seen(self, readings: Readings, run: str) -> None:
        """
        Say which bits changed since they were read last: one event for all that changed between the same two readings.

        Args:
            readings: Of one sample.

            run: The run it belongs to; empty beside the walk.
        """
        changed: defaultdict[tuple[int, int], dict[str, tuple[int, int]]] = defaultdict(dict)
        for role, new in readings.by_role.items():
            if ROLES[role].kind is not RoleKind.BIT:
                continue
            old = self._last.get(role)
            if old is not None and old.value != new.value:
                between = (old.at_ns - old.half_width_ns, new.at_ns + new.half_width_ns)
                changed[between][role] = (int(old.value), int(new.value))
            self._last[role] = new
        for (after_ns, by_ns), changes in sorted(changed.items()):
            self._ledger.record(BitsChanged(run=run, changes=changes, after_ns=after_ns, by_ns=by_ns), "unit")
