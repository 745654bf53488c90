"""The phases of the walk."""

import pytest
from textual.app import App, ComposeResult

from commission.job import bodies
from commission.terminal.widgets.phases import Phases
from commission.walk import route
from tests.walk.visits import Visit


class Phased(App[None]):
    """The phases, as narrow as they are at 80 columns."""

    CSS = "Phases { width: 24; }"

    def compose(self) -> ComposeResult:
        """The phases."""
        yield Phases(markup=False)


@pytest.mark.asyncio
async def test_the_step_walked_now_and_what_became_of_the_others_are_marked() -> None:
    """By a sign, not a colour: > now, - not done, + passed, ! void; no line is wider than the room."""
    visit = Visit()
    for step, verdict in (("A3", "pass"), ("A5", "not tested")):
        visit.record(bodies.StepBegun(step=step))
        visit.record(bodies.StepConcluded(step=step, verdict=verdict, reason="" if verdict == "pass" else "no time"))
    steps = visit.job.checklist.steps
    now = (
        next(step for step in steps if step.phase == "A" and step.id not in ("A3", "A5"))
        if sum(step.phase == "A" for step in steps) > 2
        else visit.job.checklist.step("A5")
    )
    app = Phased()
    async with app.run_test(size=(80, 24)) as pilot:
        phases = app.query_one(Phases)
        phases.show(visit.job, now)
        await pilot.pause()
        lines = str(phases.render()).splitlines()
        assert any(line.strip().startswith("+A3") for line in lines)
        assert any(line.strip().startswith(f">{now.id}") for line in lines)
        assert all(len(line) <= 24 for line in lines)
        assert sum("/" in line for line in lines) >= len(route.progress(visit.job))
