"""`commission stroke`: commanded from here where the commands were proved, only watched on a sheet alone (R8, R19)."""

from collections.abc import Callable
from pathlib import Path

import pytest

from commission.energy import EnergyState
from tests.journeys.programs import Program
from tests.journeys.records import archive
from tests.journeys.short_walk import SHEET, answers
from tests.journeys.site import Desk, wait_for

WATCHED = """
[[answers]]
step = "*"
to = "permit named"
say = "QR-PTW-0417"
[[answers]]
step = "*"
to = "barrier up"
say = "tape round the unit, nobody inside"
[[answers]]
step = "K1-closed"
to = "stem_closed"
say = "open to closed"
[[answers]]
step = "K1-closed"
to = "confirm"
say = "3, 1101, Mara Mockford"
"""


def test_watched_on_a_sheet_it_is_never_a_pass(
    unit: Callable[..., Desk], tmp_path: Path, stack_program: Callable[[Program], Program]
) -> None:
    """Somebody closes the valve from the panel: timed as "at least", never a pass, and nothing was sent from here."""
    desk = unit(speed=10.0, start_at="open")
    filed = answers(tmp_path, more=WATCHED)
    program = stack_program(
        Program.start(
            *("stroke", SHEET, "closed", "--connect", desk.url, "--answers", filed, "--site", desk.address),
            *("--out", tmp_path),
            cwd=tmp_path,
        )
    )
    program.wait_for_words("Watch one closing stroke")
    job = wait_for(lambda: next(iter(tmp_path.glob("*.job")), None), "the job file")
    wait_for(lambda: "waiting for control room" in notes(job), "the stroke to be watched")
    desk.act("selector", "LOCAL")
    wait_for(lambda: desk.read("panel")["selector"] == "LOCAL", "LOCAL")
    desk.act("local_close")
    program.process.wait(60)
    run = next(run for run in archive(job).job.runs.values() if run.figures)
    assert run.sent == ()
    verdicts = {result.verdict for result in run.results}
    assert "pass" not in verdicts
    assert "at least" in program.said()


def notes(job: Path) -> tuple[str, ...]:
    """What the newest run has noted so far."""
    runs = list(archive(job).job.runs.values())
    return runs[-1].notes if runs else ()


@pytest.mark.slow
def test_in_a_job_with_proved_commands_it_passes(
    job: Path, unit: Callable[..., Desk], by_file: Callable[..., Program]
) -> None:
    """The laptop commands one stroke of the direction asked for, and it passes."""
    desk = unit(speed=30.0)
    program = by_file(job, desk, stroke="open")
    program.process.wait(60)
    runs = {name: run for name, run in archive(job).job.runs.items() if run.begun.procedure == "full_stroke"}
    assert list(runs) == ["K1-more-open-1"], program.said()
    assert runs["K1-more-open-1"].commanded_by == "laptop"
    assert runs["K1-more-open-1"].results[-1].verdict == "pass"
    assert archive(job).job.energy_log.now.state is EnergyState.IN_OPERATION
