"""The app by keys alone, in tmux: one closing stroke and the way back, at two sizes and without colour."""

from collections.abc import Callable
from pathlib import Path

import pytest

from commission.energy import EnergyState
from tests.journeys.hand import Hand, begin, confirm, enter, pressed, typed
from tests.journeys.records import archive
from tests.journeys.screen import NEEDS_TMUX, Screen
from tests.journeys.short_walk import CONFIRM
from tests.journeys.site import now_s

pytestmark = [NEEDS_TMUX, pytest.mark.slow]

STROKE_WITHIN_S = 90.0
WALK_WITHIN_S = 10.0
"""From the key to the prepared job; measured at 4 s, and a loaded machine takes longer."""

MOST_KEYS = 6
THERE = (
    ("press the stop key now", pressed("Space")),
    (r"Ready\?", begin),
    (r"confirm this movement in full", confirm(CONFIRM)),
)
"""What is asked up to the stroke, and what is typed."""

BACK = (
    ("where the stem mark went", typed("open to closed")),
    ("Everything of this step is recorded", enter),
    (r"Ready\?", begin),
    (r"Begin to bring the unit to IN OPERATION\?", enter),
    ("vents as they belong; selector in REMOTE", typed("covers, bolts, seals, caps and vents on; selector in REMOTE")),
    ("Count everybody", typed("3")),
    ("right position, and takes the unit", typed("Mara Mockford: closed, no alarm, taken over")),
    (r"Is the unit now IN OPERATION\?", enter),
    ("What the controller sees", typed("closed, no alarm, inhibits off")),
)
"""What is asked after the result, and what is typed."""


@pytest.mark.long
@pytest.mark.parametrize(
    ("size", "colour"),
    [
        pytest.param((80, 24), True, id="80x24"),
        pytest.param((120, 40), True, id="120x40"),
        pytest.param((80, 24), False, id="NO_COLOR"),
    ],
)
def test_one_stroke_by_keys(
    screen: Callable[..., Screen],
    tmp_path: Path,
    size: tuple[int, int],
    colour: bool,  # noqa: FBT001  # a parameter of the test
    record_property: Callable[[str, object], None],
) -> None:
    """
    From the command to a timed closing stroke within six keys and 90 s; then the hand back, the report, and out.

    A key is one press; the confirmation of R13 (count, plate, who says go) is typed as one text that no key replaces,
    and the Enter that ends it counts as a key.
    """
    begun_s = now_s()
    app = screen("practice", "--out", tmp_path / "jobs", size=size, colour=colour)
    app.expect("one stroke")
    pressed_s = now_s()
    app.press("o")
    app.expect("press the stop key now", WALK_WITHIN_S)
    record_property("from the key to the prepared job s", round(now_s() - pressed_s, 1))
    Hand(app, lambda _step: THERE).until("P A S S", STROKE_WITHIN_S)
    took_s, keys = now_s() - begun_s, [key for key in app.pressed if not key.startswith("typed")]
    record_property("from the command to the timed stroke s", round(took_s, 1))
    assert took_s <= STROKE_WITHIN_S
    assert len(keys) <= MOST_KEYS, keys
    assert colour or not app.colours()
    go_back(app)
    app.press("C-q")
    app.until(app.gone, "the end of the app")
    held = archive(next((tmp_path / "jobs").glob("*.job")))
    assert held.job.energy_log.now.state is EnergyState.IN_OPERATION
    assert [run.results[-1].verdict for run in held.job.runs.values() if run.figures] == ["pass"]


def go_back(app: Screen) -> None:
    """From the result to the report, every answer by keys."""
    app.press("Enter")
    hand = Hand(app, lambda _step: BACK)
    hand.until("The checklist is at its end", 60.0)
    app.press("r")
    app.expect("As-left report")
