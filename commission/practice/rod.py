"""
Work at the rod of a double-acting cylinder: what oil does on it, what friction takes, what is caught where it leaps.

`double_acting` finds where the rod comes to rest; from there to there, this follows the way. Work and friction are
integrals of pressures and of forces, each by itself; what a shut side gives in a leap has a closed form.
"""

from collections.abc import Callable
from typing import Protocol

from commission.practice.ledger import Ledger
from commission.practice.root import find_root
from commission.practice.side import Side
from commission.practice.slide import flow_work_j, integral

_SAME_PA = 1e-3
_DROP_OF_ROUNDING_M3 = 1e-18


class FrictionAt(Protocol):
    """Friction at the rod."""

    def __call__(self, rod_m: float, *, positive: bool, moving: bool = True) -> float:
        """Newtons against motion away from 0, or back; more before a motion begins."""


class Rod:
    """
    The piston between its two sides.

    Args:
        full: Side whose oil presses the rod away from 0.

        ring: The other.

        stroke_m: From end to end.

        friction_n: What holds it.

        kinks_m: Places where the friction has a kink.

        ledger: Where friction and leaps are entered.
    """

    def __init__(
        self,
        full: Side,
        ring: Side,
        stroke_m: float,
        friction_n: FrictionAt,
        kinks_m: tuple[float, ...],
        ledger: Ledger,
    ) -> None:
        self._full = full
        self._ring = ring
        self._stroke_m = stroke_m
        self._friction_n = friction_n
        self._kinks_m = kinks_m
        self._ledger = ledger

    def worked_j(self, fed: Side, more_m3: float, before_m: float, after_m: float, moving: int) -> float:
        """
        Work of the oil that was fed in a step; what of it the rod rubbed away, or leapt, is entered.

        First the rod stands until the pressure is at the edge of what holds it; then, where it stuck or was let go of,
        it leaps as far as that oil takes it; then it slides, the pressure following the load; last it stands again.

        Args:
            fed: The side, with all its oil.

            more_m3: What of it came in, the other side led to the tank.

            before_m: Where the rod was.

            after_m: Where it is.

            moving: Which way it moved before, as a sign; 0 where it stood.
        """
        ended_m3 = fed.stored_m3
        positive = fed is self._full
        stroke_m, area_m2, space = self._stroke_m, fed.area_m2, fed.space

        def swept_m3(rod_m: float) -> float:
            return area_m2 * (rod_m if positive else stroke_m - rod_m)

        def held_j(stored_m3: float, rod_m: float) -> float:
            return space.energy_j(space.pressure_pa(stored_m3, swept_m3(rod_m)), swept_m3(rod_m))

        begun_j = held_j(ended_m3 - more_m3, before_m)
        if after_m == before_m or (after_m > before_m) is not positive:
            stood_j = held_j(ended_m3, before_m) - begun_j
            self.leap(before_m, after_m)
            return stood_j
        back = self._ring if positive else self._full
        back_n = (back.behind_pa or 0.0) * back.area_m2

        def edge_pa(rod_m: float, *, moving: bool = True) -> float:
            return (self._friction_n(rod_m, positive=positive, moving=moving) + back_n) / area_m2

        def stored_m3(pressure_pa: float, rod_m: float) -> float:
            return space.stored_m3(pressure_pa, swept_m3(rod_m))

        leaves_pa = edge_pa(before_m, moving=moving == (1 if positive else -1))
        left_m3 = min(ended_m3, max(ended_m3 - more_m3, stored_m3(leaves_pa, before_m)))
        worked_j = held_j(left_m3, before_m) - begun_j
        slides_m = before_m
        if space.pressure_pa(left_m3, swept_m3(before_m)) - edge_pa(before_m) > _SAME_PA:
            slides_m = self._leapt_to(lambda rod_m: stored_m3(edge_pa(rod_m), rod_m) - left_m3, before_m, after_m)
            fed.stored_m3 = left_m3
            self.leap(before_m, slides_m)
            fed.stored_m3 = ended_m3
        worked_j += held_j(ended_m3, after_m) - held_j(left_m3, slides_m)
        if slides_m == after_m:
            return worked_j
        begins_pa, ends_pa = edge_pa(slides_m), edge_pa(after_m)
        worked_j += space.energy_j(begins_pa, swept_m3(slides_m)) - space.energy_j(ends_pa, swept_m3(after_m))
        self._rub(slides_m, after_m)
        return worked_j + flow_work_j(edge_pa, stored_m3, slides_m, after_m, self._kinks_m)

    @staticmethod
    def _leapt_to(missing_m3: Callable[[float], float], from_m: float, to_m: float) -> float:
        """Where a rod that let go is held again, with the oil that there was."""
        if (missing_m3(from_m) > 0.0) == (missing_m3(to_m) > 0.0):
            return to_m
        return find_root(missing_m3, from_m, to_m, _DROP_OF_ROUNDING_M3)

    def leap(self, from_m: float, to_m: float) -> None:
        """At once, with the oil that there is: what friction does not take is caught."""
        if from_m == to_m:
            return
        given_j = self._full.given_j(from_m, to_m)
        given_j += self._ring.given_j(self._stroke_m - from_m, self._stroke_m - to_m)
        self._ledger.stopped_j += given_j - self._rub(from_m, to_m)

    def _rub(self, from_m: float, to_m: float) -> float:
        positive = to_m > from_m
        along_j = integral(lambda rod_m: self._friction_n(rod_m, positive=positive), from_m, to_m, self._kinks_m)
        self._ledger.rubbed_j += abs(along_j)
        return abs(along_j)

    def push_n(self, rod_m: float, on_full_m3: float = 0.0, on_ring_m3: float = 0.0) -> float:
        """Force of both sides on the rod, with more oil on them."""
        full_n = self._full.pressure_pa(rod_m, on_full_m3) * self._full.area_m2
        return full_n - self._ring.pressure_pa(self._stroke_m - rod_m, on_ring_m3) * self._ring.area_m2
