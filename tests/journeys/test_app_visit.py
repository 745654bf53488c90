"""
A visit by keys alone, in tmux, from the jobs screen to control power: papers, permit, isolation to zero energy, dead
tests, ends of travel by hand pump, release. Whatever is done at the unit is done there through the app, by keys.
"""

from collections.abc import Callable
from pathlib import Path

import pytest

from commission.energy import EnergyState
from tests.journeys.programs import finished
from tests.journeys.records import archive
from tests.journeys.screen import NEEDS_TMUX, Screen
from tests.journeys.site import now_s
from tests.journeys.walker import Walker

pytestmark = [NEEDS_TMUX, pytest.mark.slow, pytest.mark.alone, pytest.mark.timeout(400)]

SPEED = 20.0
UNTIL = "I2"
"""The first step whose own test watches hands at the unit."""

STEPS = ("A3", "A5", "B2", "B3", "B4", "B5", "F2", "F3", "G4", "H1", "H2")


@pytest.mark.parametrize(
    ("size", "colour"),
    [
        pytest.param((80, 24), False, id="80x24 NO_COLOR"),
        pytest.param((80, 24), True, id="80x24"),
        pytest.param((120, 40), True, id="120x40"),
    ],
)
def test_a_visit_by_keys_up_to_control_power(
    screen: Callable[..., Screen],
    tmp_path: Path,
    size: tuple[int, int],
    colour: bool,  # noqa: FBT001  # a parameter of the test
    record_property: Callable[[str, object], None],
) -> None:
    """Every prompt is answered by keys and every lock, bleed and gauge worked by keys; the record says so."""
    begun_s, folder = now_s(), tmp_path / "jobs"
    app = screen("practice", "--out", folder, "--speed", SPEED, size=size, colour=colour)
    walker = Walker(app, folder, SPEED)
    walker.start()
    walker.until(UNTIL)
    walker.to_keys()
    assert "CONTROL" in app.shown().splitlines()[0]
    app.press("r")
    app.expect("interim report")
    app.press("f")
    app.expect(".pdf")
    assert colour or not app.colours()
    app.press("C-q")
    app.until(app.gone, "the end of the app")
    record_property("up to control power by keys s", round(now_s() - begun_s, 1))
    record_property("prompts, keys", (walker.prompts, len(app.pressed)))
    (job,) = folder.glob("*.job")
    assert list(folder.glob("*.pdf"))
    check_record(job, tmp_path)


def check_record(job: Path, folder: Path) -> None:
    """Practice for good, unaltered, each step passed, locked once with evidence, and nothing was answered by a file."""
    held = archive(job)
    assert held.job.practice
    assert held.job.energy_log.now.state is EnergyState.CONTROL
    verdicts = {name: state.last.verdict for name, state in held.job.steps.items() if state.last is not None}
    assert {name: verdicts[name] for name in STEPS if not verdicts[name].startswith("pass")} == {}
    assert not any(event.body.get("from_file") for event in held.events)
    verified = finished("verify", job, cwd=folder)
    assert verified.returncode == 0, verified.stdout
