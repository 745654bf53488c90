"""
Hands at the practice unit: they do what a wiring proof says, and type only where the test says what.

    hands = Hands(desk, {"low_fluid there": "cannot, no test rod fitted"}, fumbles=("low_fluid there",))
"""

import asyncio
from collections.abc import Mapping

from commission.practice.site import SiteDesk
from commission.procedures.requests import Answer, Ask

TESS = "Tess Placeholder"

ACTS: Mapping[str, tuple[dict[str, object], ...]] = {
    "remote there": ({"name": "selector", "value": "LOCAL"},),
    "remote back": ({"name": "selector", "value": "REMOTE"},),
    "automatic there": ({"name": "hand_pump", "value": 0},),
    "automatic back": ({"name": "stow_hand_lever"},),
    "low_fluid there": ({"name": "lift_float", "value": True},),
    "low_fluid back": ({"name": "lift_float", "value": False},),
    "esd_healthy there": ({"name": "esd_button", "value": True},),
    "esd_healthy back": ({"name": "esd_button", "value": False}, {"name": "local_reset"}),
    "closed_limit back": ({"name": "limit_lever", "which": "closed", "value": "free"},),
    "open_limit back": ({"name": "limit_lever", "which": "open", "value": "free"},),
    "reset": ({"name": "local_reset"},),
}
"""What hands at the practice unit do for each operation."""


class Hands:
    """Somebody at the valve who does what is said, a second later, and types only where nothing is seen."""

    def __init__(self, desk: SiteDesk, said: Mapping[str, str] | None = None, fumbles: tuple[str, ...] = ()) -> None:
        self.desk = desk
        self.said = dict(said or {})
        self.fumbles = list(fumbles)
        self.asked: list[str] = []

    async def ask(self, question: Ask) -> Answer:
        """Do it, and say something only where the test says what."""
        self.asked.append(question.id)
        await asyncio.sleep(1.0)
        if question.id in self.fumbles:
            self.fumbles.remove(question.id)
        else:
            await self._do(question.id)
        if question.id in self.said:
            await asyncio.sleep(1.0)
            return Answer(question.id, self.said.pop(question.id), TESS, 0)
        if question.id.endswith(" then"):
            return Answer(question.id, "go on", TESS, 0)
        await asyncio.Event().wait()
        raise AssertionError("nothing ends that wait but being taken back")

    async def _do(self, asked: str) -> None:
        if asked.endswith("_limit there"):  # held off where the valve makes it, worked by hand where it does not
            end, limits = asked.partition("_")[0], self.desk.unit.limits
            made = limits.open_made if end == "open" else limits.closed_made
            self.desk.act("limit_lever", not made, which=end)
        for act in ACTS.get(asked, ()):
            self.desk.act(**act)  # type: ignore[arg-type]  # acts as text
            await asyncio.sleep(0.1)
