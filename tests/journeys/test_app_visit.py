"""The whole visit by keys alone, in tmux, from the jobs screen to the signed job and its report."""

from collections.abc import Callable
from pathlib import Path

import pytest

from commission.energy import EnergyState
from tests.journeys.programs import finished
from tests.journeys.records import archive
from tests.journeys.screen import NEEDS_TMUX, Screen
from tests.journeys.site import now_s
from tests.journeys.walker import Walker

pytestmark = [NEEDS_TMUX, pytest.mark.slow, pytest.mark.timeout(400)]

SPEED = 20.0


@pytest.mark.parametrize(
    ("size", "colour"),
    [
        pytest.param((80, 24), False, id="80x24 NO_COLOR"),
        pytest.param((80, 24), True, id="80x24"),
        pytest.param((120, 40), True, id="120x40"),
    ],
)
def test_a_whole_visit_by_keys(
    screen: Callable[..., Screen],
    tmp_path: Path,
    size: tuple[int, int],
    colour: bool,  # noqa: FBT001  # a parameter of the test
    record_property: Callable[[str, object], None],
) -> None:
    """Every prompt of the checklist is answered by keys; the record verifies, and the report says ACCEPTED."""
    begun_s, folder = now_s(), tmp_path / "jobs"
    app = screen("practice", "--out", folder, "--speed", SPEED, size=size, colour=colour)
    walker = Walker(app, folder, SPEED)
    walker.start()
    walker.to_the_end()
    app.press("r")
    app.expect("ACCEPTED")
    app.press("f")
    app.expect(".pdf")
    assert colour or not app.colours()
    app.press("C-q")
    app.until(app.gone, "the end of the app")
    record_property("whole visit by keys s", round(now_s() - begun_s, 1))
    record_property("prompts, keys", (walker.prompts, len(app.pressed)))
    (job,) = folder.glob("*.job")
    assert list(folder.glob("*.pdf"))
    held = archive(job)
    assert held.job.register.signatures
    assert held.job.practice
    assert held.job.energy_log.now.state is EnergyState.IN_OPERATION
    verified = finished("verify", job, cwd=tmp_path)
    assert verified.returncode == 0, verified.stdout
