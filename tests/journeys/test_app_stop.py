"""The app in mid-stroke, in tmux: the stop key found at the unit, and kill -9 with what the next start says."""

import os
import signal
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.journeys.hand import Hand, Rules, begin, confirm, enter, typed
from tests.journeys.records import archive, ended, run_of, sent_in
from tests.journeys.screen import NEEDS_TMUX, Screen
from tests.journeys.short_walk import CONFIRM
from tests.journeys.site import Desk, now_s, wait_for

pytestmark = [NEEDS_TMUX, pytest.mark.slow]

STOP_WITHIN_S = 1.0
"""A key through tmux, its process, the wire and a scan of the unit, on a loaded machine."""

NAME = "Tess Placeholder, technician"


def going_on(desk: Desk) -> Callable[[str], Rules]:
    """What somebody answers who goes on with a job in LIVE, up to the confirmation of its first stroke."""
    asked = (
        (r"Ready\?", begin),
        (r"Begin to bring the unit to LIVE\?", enter),
        (r"nobody is at the unit\. \(\d+ left", typed("no lock on, nobody there")),
        (r"Count everybody at the unit", typed("3")),
        (r"may stay so\.", typed("Mara Mockford")),
        (r"Is the unit now LIVE\?", enter),
        (r"Everything of this step is recorded", enter),
        (r"Address of the unit(?!.*unit=11\s+tcp:)", typed(desk.url)),  # asked, and not yet answered
        (r"another master", typed("none")),
        (r"control room agrees", typed("Mara Mockford")),
        (r"Enter goes on", enter),
    )
    return lambda _step: asked


def to_the_stroke(app: Screen, desk: Desk) -> None:
    """From the list of jobs into the opening stroke, by keys."""
    to_the_walk(app)
    Hand(app, going_on(desk)).until("confirm this movement in full", 40.0)
    confirm(CONFIRM)(app)
    desk.moving()


def to_the_walk(app: Screen) -> None:
    """From the list of jobs into the walk, with somebody at the keyboard."""
    app.expect("XV-1101")
    app.press("Enter")
    app.expect("UNKNOWN")
    app.expect("press the stop key now")
    app.press("Space")
    app.expect("Ready?")
    app.press("u")
    app.expect("Who is at the keyboard?")
    typed(NAME)(app)


def test_the_stop_key_in_mid_stroke(
    folder: Path,
    unit: Callable[..., Desk],
    screen: Callable[..., Screen],
    record_property: Callable[[str, object], None],
) -> None:
    """SPACE: the pump is off at the unit at once, the valve stands, and the record says stopped and confirmed."""
    desk = unit(speed=10.0)
    app = screen("--folder", folder, size=(120, 40))
    to_the_stroke(app, desk)
    app.expect("SPACE")
    pressed_s = now_s()
    app.press("Space")
    record_property("stop latency s through tmux", round(desk.stopped_within(pressed_s, STOP_WITHIN_S), 3))
    assert desk.stands()
    app.expect("stopped")
    app.press("C-q")
    app.until(app.gone, "the end of the app")
    run = run_of(folder / "visit.job")
    assert ended(run) == ("stopped", "confirmed")
    assert set(sent_in(run, "safe end")) == {"command_stop"}


@pytest.mark.long
def test_killed_in_mid_stroke_and_gone_on_with(
    folder: Path, unit: Callable[..., Desk], screen: Callable[..., Screen]
) -> None:
    """Kill -9: the valve moves on; the next start shows UNKNOWN, and the record says that the run was interrupted."""
    desk = unit(speed=10.0)
    app = screen("--folder", folder, size=(120, 40))
    to_the_stroke(app, desk)
    os.kill(app.pid(), signal.SIGKILL)
    app.until(app.gone, "the end of the app")
    at = desk.truth()["travel_pct"]
    wait_for(lambda: desk.truth()["travel_pct"] > at + 5, "the valve to move on")

    again = screen("--folder", folder, size=(120, 40))
    again.expect("XV-1101")
    again.press("Enter")
    again.expect("UNKNOWN")
    assert "LIVE keep out" not in again.shown().splitlines()[0]
    again.press("C-q")
    again.until(again.gone, "the end of the app")
    held = archive(folder / "visit.job")
    run = run_of(folder / "visit.job")
    assert ended(run) == ("interrupted", "unconfirmed")
    assert run.ended is not None
    assert "these may have been sent: command_open" in run.ended.reason
    assert held.job.energy_log.now.state == "unknown"
