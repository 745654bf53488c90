"""kill -9 in mid-stroke: what is certain is there, what may have been sent is said, and the visit goes on."""

import signal
from collections.abc import Callable
from pathlib import Path

import pytest

from commission.cli.verify import status_of
from commission.energy import EnergyState
from commission.job.state import fold
from commission.verify import verify_job
from tests.journeys.programs import Program
from tests.journeys.records import archive, ended, run_of, samples_of
from tests.journeys.site import Desk, now_s, wait_for

LOST_WITHIN_S = 1.3
"""Samples lost at most: a chunk of under a second, one cycle, and the time that a loaded machine takes to store."""

CLOSED_BY_HAND = """
[[answers]]
step = "B0-live"
to = "locks looked at"
say = "no lock on; closed from the panel"
acts = [
    { act = "selector", value = "LOCAL" },
    { act = "let_time_pass", value = 2 },
    { act = "local_close" },
    { act = "let_time_pass", value = 30 },
    { act = "selector", value = "REMOTE" },
    { act = "let_time_pass", value = 5 },
]
"""


@pytest.mark.slow
def test_killed_in_mid_stroke(
    job: Path,
    unit: Callable[..., Desk],
    by_file: Callable[..., Program],
    record_property: Callable[[str, object], None],
) -> None:
    """The valve moves on; the record is whole up to the last second; the next start re-proves and concludes."""
    desk = unit(speed=20.0)
    program = by_file(job, desk)
    early, early_s = desk.moving(5.0), now_s()
    late, late_s = desk.moving(35.0), now_s()
    program.process.kill()
    program.process.wait()
    assert program.process.returncode == -signal.SIGKILL

    moved_on = wait_for(lambda: (truth := desk.truth())["travel_pct"] > late["travel_pct"] + 10 and truth, "moving on")
    assert moved_on["pump_on"]
    travel_per_s = (late["travel_pct"] - early["travel_pct"]) / (late_s - early_s)
    last = samples_of(job)[-1].value("travel")
    assert last is not None
    lost_s = (late["travel_pct"] - last * 100) / travel_per_s
    record_property("samples lost s", round(lost_s, 3))
    assert lost_s <= LOST_WITHIN_S

    again = by_file(job, desk, "--json", answered=CLOSED_BY_HAND)
    again.process.wait(60)
    assert again.process.returncode in (0, 1), again.said()
    check_gone_on_with(job)


def check_gone_on_with(job: Path) -> None:
    """The interrupted stroke is said to be so, the state was proved anew, and the rest of the walk stands."""
    held = archive(job)
    interrupted = run_of(job)
    assert ended(interrupted) == ("interrupted", "unconfirmed")
    assert interrupted.ended is not None
    assert "these may have been sent: command_open" in interrupted.ended.reason
    restart = [event for event in held.events if event.kind == "session_started"][-1]
    at_start = fold(event for event in held.events if event.n <= restart.n)
    assert at_start.energy_log.now.state is EnergyState.UNKNOWN
    timed = {name: run for name, run in held.job.runs.items() if run.figures}
    assert set(timed) == {"K1-open-2", "K1-closed-3"}
    assert all(result.verdict == "pass" for run in timed.values() for result in run.results)
    assert held.job.energy_log.now.state is EnergyState.IN_OPERATION
    assert status_of(verify_job(job)) == 0
