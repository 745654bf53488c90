"""
Contact with the unit after it was lost: opening the line again, and proving that the same unit answers.

An attempt is a task of its own, so that whoever polls can go on telling silences meanwhile. Until the unit is proved
nothing is read or written but what the proof needs.
"""

import asyncio
import random

from commission.leave import LeaveSlot
from commission.link.faults import LinkError, NotConnected, WrongUnit
from commission.link.line import Line
from commission.link.meeting import check_identity
from commission.link.practice_check import PracticeIdentity, practice_identity
from commission.sheet import Sheet

_BACK_OFF_S = (0.1, 0.2, 0.5, 1.0)
"""Waits before trying to connect again, in wire time; the last one repeats."""


class Contact:
    """
    Whether the unit that was met still answers.

    Args:
        line: The open line.

        sheet: The unit's sheet.

        practice: What the unit proved to be when it was met.

        leave: Withdrawn where another unit answers.

        draw: Where the practice challenge comes from.
    """

    def __init__(
        self,
        line: Line,
        sheet: Sheet,
        practice: PracticeIdentity | None,
        leave: LeaveSlot,
        draw: random.Random | None,
    ) -> None:
        self._line = line
        self._sheet = sheet
        self._practice = practice
        self._leave = leave
        self._draw = draw
        self._proved = True
        self._failed_attempts = 0
        self._reconnecting: asyncio.Task[None] | None = None

    @property
    def up(self) -> bool:
        """Whether the line is open and the unit behind it has proved to be the one of before."""
        return self._proved and self._line.connected

    def demand(self) -> None:
        """
        Refuse to go on where the unit is not proved.

        Raises:
            NotConnected: the unit behind the line has not proved itself again.
        """
        if not self._proved:
            raise NotConnected("contact was lost, and who answers now is not proved yet")

    async def ready(self, wait_s: float) -> None:
        """
        Return at once where contact is up; else wait so long for it, in wire time.

        Raises:
            LinkError: it is not up by then.
        """
        if not self.up:
            await self.restore(wait_s)

    async def restore(self, wait_s: float | None = None) -> None:
        """
        Open the line again and prove the unit; one attempt is shared by all who wait, and outlives their patience.

        Args:
            wait_s: Longest wait, in wire time; None for as long as the attempt takes.

        Raises:
            NotConnected: it cannot be opened, or is not proved in that time.

            WireFault: any other of its kinds; `WrongUnit` withdraws leave.
        """
        task = self._reconnecting
        if task is None or task.done():
            task = self._reconnecting = asyncio.ensure_future(self._prove_again())
        await asyncio.wait({task}, timeout=wait_s)
        if not task.done():
            raise NotConnected("contact is lost; connecting again")
        task.result()

    async def _prove_again(self) -> None:
        self._proved = False
        if self._failed_attempts:
            await self._line.clock.sleep_wire(_BACK_OFF_S[min(self._failed_attempts, len(_BACK_OFF_S)) - 1])
        self._failed_attempts += 1
        await self._line.connect()
        try:
            await check_identity(self._line, self._sheet)
            if await practice_identity(self._line, self._draw) != self._practice:
                raise WrongUnit(
                    f"before contact was lost this was {_practice_words(self._practice)}, now it is not the same: "
                    "is another unit on the line?"
                )
        except LinkError as fault:
            await self._line.close()
            if isinstance(fault, WrongUnit):
                self._leave.withdraw(str(fault))
            raise
        self._proved = True
        self._failed_attempts = 0
        self._line.health.counts["reconnected"] += 1

    async def close(self) -> None:
        """Give up for good; leaves no task behind."""
        self._proved = False
        if self._reconnecting is not None:
            self._reconnecting.cancel()
            await asyncio.gather(self._reconnecting, return_exceptions=True)


def _practice_words(practice: PracticeIdentity | None) -> str:
    return "no practice unit" if practice is None else f"a practice unit at speed {practice.speed:g}"
