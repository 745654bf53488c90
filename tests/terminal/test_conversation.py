"""The conversation of the open visit: made when a visit is, ended with it, and never before the first paint."""

import subprocess
import sys
from pathlib import Path

import pytest

from commission.terminal.conversation import become, stop_at_rest
from tests.terminal.moving_app import app_at, desk_at
from tests.terminal.test_desk import SHEET
from tests.terminal.walking import walking
from tests.visiting import TESS, Nobody

FIRST_PAINT = """
import sys
import commission.cli.app, commission.cli.practice
late = ("commission.visit", "commission.job", "commission.sheet", "commission.record", "commission.link", "pymodbus")
loaded = [name for name in sys.modules if name.startswith(late)]
sys.exit(f"loaded before the first paint: {loaded}" if loaded else 0)
"""


def test_the_first_paint_waits_for_nothing_that_a_visit_is_made_of() -> None:
    """Neither sheet, job, record, line nor the Modbus library is loaded with the app."""
    done = subprocess.run([sys.executable, "-c", FIRST_PAINT], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


@pytest.mark.asyncio
async def test_each_visit_has_a_conversation_of_its_own(tmp_path: Path) -> None:
    """After leaving, nothing is asked any more, and the next visit begins with a walk of its own."""
    async with walking(tmp_path) as there:
        await there.start()
        first = there.app.conversation
        task = first.task
        assert task is not None
        await there.press("escape", "q")
        await there.sees("left UNKNOWN")
        assert task.done()
        assert there.app.conversation is not first
        assert there.app.conversation.task is None


@pytest.mark.asyncio
async def test_whoever_says_a_name_is_recorded(tmp_path: Path) -> None:
    """With the role, or as somebody on site; without a name nothing is recorded."""
    desk = desk_at(tmp_path)
    visit = desk.begin(SHEET, Nobody(), TESS)
    seen = []
    visit.on_event(lambda event: seen.append(event.body))
    assert become(visit, " T. Placeholder , technician ") == "T. Placeholder"
    assert become(visit, "M. Mockford") == "M. Mockford"
    with pytest.raises(ValueError, match="name and role"):
        become(visit, " , technician")
    assert [(body["name"], body["role"]) for body in seen] == [
        ("T. Placeholder", "technician"),
        ("M. Mockford", "on site"),
    ]
    await desk.close("left")


@pytest.mark.asyncio
@pytest.mark.slow
async def test_r12_what_became_of_a_stop_at_rest_is_said(tmp_path: Path) -> None:
    """Answered proves little, and not answered says where the local stop is."""
    async with app_at(tmp_path, live=False) as there:
        visit = there.there.visit
        assert "counts only when the stem is seen at rest" in await stop_at_rest(visit, TESS)
        there.there.unit.server.deaf = True
        said = await stop_at_rest(visit, TESS)
        assert "STOP NOT ANSWERED" in said
        assert "north panel" in said
        there.there.unit.server.deaf = False
