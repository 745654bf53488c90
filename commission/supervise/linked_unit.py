"""The link as the supervisor sees it: each write carries the energy state of its own moment."""

from collections.abc import Callable

from commission.clock import Clock
from commission.link.unit import UnitLink
from commission.link.write_guard import EnergyView
from commission.sample import ReadPlan, Written
from commission.sheet import Sheet
from commission.supervise.surroundings import SampleSource

FASTEST_S = 0.01
"""
Unit time from one sample to the next at least: a quick line would give several in one scan of the unit, at the cost of
the unit's own time and of the keys.
"""


class LinkedUnit:
    """
    The unit at the end of a link.

    Args:
        link: The open line.

        clock: The session's clocks.

        energy_view: The energy state now, asked anew at each write.
    """

    def __init__(self, link: UnitLink, clock: Clock, energy_view: Callable[[], EnergyView]) -> None:
        self._link = link
        self._clock = clock
        self._energy_view = energy_view

    @property
    def sheet(self) -> Sheet:
        """What the unit is."""
        return self._link.sheet

    @property
    def clock(self) -> Clock:
        """The session's clocks."""
        return self._clock

    async def plan(self, roles: tuple[str, ...]) -> ReadPlan:
        """
        The fastest plan that reads these roles, tried once.

        Raises:
            LinkError: a point cannot be read; the message says which.
        """
        return await self._link.plan(roles)

    async def plan_around(self, roles: tuple[str, ...]) -> ReadPlan:
        """
        A plan that reads these roles and the addresses beside them, as far as the unit answers there.

        Raises:
            LinkError: none of them can be read.
        """
        return await self._link.plan_around(roles)

    def watch(self, plan: ReadPlan) -> SampleSource:
        """Start polling a plan as fast as the wire allows, and no faster than does any good."""
        return self._link.sampler(plan, FASTEST_S)

    async def command(self, role: str, value: int) -> Written:
        """
        Give a command, once.

        Raises:
            LinkError: it was refused before anything was sent.
        """
        return await self._link.write(role, value, self._energy_view())

    async def make_safe(self, role: str, value: int) -> Written:
        """
        Give a command that makes safe, ahead of everything.

        Raises:
            LinkError: it was refused before anything was sent, or the line is down.
        """
        return await self._link.make_safe(role, value, self._energy_view())
