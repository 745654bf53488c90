"""
What every test of the app shares: after a key it is waited for what the key set going, and no longer.

The library takes an app for idle when its process has hardly worked for a while. An app that polls a unit is never idle
in that sense: each key then costs up to two seconds. Here it is idle when nothing is left in any queue of its screen.
"""

import asyncio

import pytest
from textual import _wait, app, pilot
from textual._context import active_app

from commission.clock import NS_PER_S, Clock

LOOK_S = 0.003
CALM_LOOKS = 4
"""What one queue was emptied of may be on its way to another: so often in a row all must be empty."""


PATIENCE_S = 0.25
"""What is not calm by then will not be: the test's own waits see to the rest."""


async def settled(min_sleep: float = 0.0, max_sleep: float = PATIENCE_S) -> None:
    """Wait until no message is left in the app, its screen and what is on it; in place of the library's own wait."""
    clock, calm = Clock(), 0
    began_ns = clock.wire_ns()
    while calm < CALM_LOOKS or clock.wire_ns() - began_ns < min_sleep * NS_PER_S:
        await asyncio.sleep(LOOK_S)
        calm = 0 if _busy() else calm + 1
        if clock.wire_ns() - began_ns > max_sleep * NS_PER_S:
            return


def _busy() -> bool:
    running = active_app.get(None)
    if running is None or not running.screen_stack:
        return False
    pumps = (running, *running.screen.walk_children(with_self=True))
    return any(pump.is_running and (pump.message_queue_size or pump._next_callbacks) for pump in pumps)


@pytest.fixture(autouse=True)
def quick_keys(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keys of a pilot wait for what they set going."""
    assert app.wait_for_idle is pilot.wait_for_idle is _wait.wait_for_idle  # type: ignore[attr-defined]  # imported names
    monkeypatch.setattr(app, "wait_for_idle", settled)
    monkeypatch.setattr(pilot, "wait_for_idle", settled)
