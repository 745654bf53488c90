"""
A visit by keys alone, in tmux: papers, permit, isolation to zero energy, dead tests, ends of travel by hand pump,
release; then the wiring proofs, strokes, partial strokes, span, trips, signatures and the report. Whatever is done at
the unit is done there through the app, by keys.
"""

from collections.abc import Callable
from pathlib import Path

import pytest
from pypdf import PdfReader

from commission.energy import EnergyState
from commission.job.playback import Archive
from commission.report.outcome import outcome
from commission.walk.route import applicable
from tests.journeys.programs import finished
from tests.journeys.records import archive
from tests.journeys.screen import NEEDS_TMUX, Screen
from tests.journeys.site import now_s
from tests.journeys.walker import Walker

pytestmark = [NEEDS_TMUX, pytest.mark.slow, pytest.mark.alone]

SPEED = 20.0
SIGNERS = 2
UNTIL = "I2"
"""The first step whose own test watches hands at the unit."""

KINDS = (
    pytest.param((80, 24), False, id="80x24 NO_COLOR"),
    pytest.param((80, 24), True, id="80x24"),
    pytest.param((120, 40), True, id="120x40"),
)


@pytest.mark.timeout(600)
@pytest.mark.parametrize(("size", "colour"), KINDS)
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
    assert bool(app.colours()) is colour
    write_report(app, "interim report")
    app.press("C-q")
    app.until(app.gone, "the end of the app")
    record_property("up to control power by keys s", round(now_s() - begun_s, 1))
    record_property("prompts, keys", (walker.prompts, len(app.pressed)))
    held = check_record(folder, tmp_path, until=UNTIL)
    assert held.job.energy_log.now.state is EnergyState.CONTROL


@pytest.mark.deep
@pytest.mark.timeout(1200)
@pytest.mark.parametrize(("size", "colour"), KINDS)
def test_a_whole_visit_by_keys(
    screen: Callable[..., Screen],
    tmp_path: Path,
    size: tuple[int, int],
    colour: bool,  # noqa: FBT001  # a parameter of the test
    record_property: Callable[[str, object], None],
) -> None:
    """From the jobs screen to the signatures, by keys: accepted, and every figure recomputes from the record."""
    begun_s, folder = now_s(), tmp_path / "jobs"
    app = screen("practice", "--out", folder, "--speed", SPEED, size=size, colour=colour)
    walker = Walker(app, folder, SPEED)
    walker.start()
    walker.to_end()
    assert "IN OPERATION" in app.shown().splitlines()[0]
    assert bool(app.colours()) is colour
    write_report(app, "ACCEPTED")
    record_property("whole visit by keys s", round(now_s() - begun_s, 1))
    record_property("prompts, keys", (walker.prompts, len(app.pressed)))
    held = check_record(folder, tmp_path)
    assert not outcome(held.job, interim=False).against
    assert held.job.energy_log.now.state is EnergyState.IN_OPERATION
    assert len({signature.by for signature in held.job.register.signatures}) == SIGNERS
    (pdf,) = folder.glob("*.pdf")
    pages = [page.extract_text() for page in PdfReader(str(pdf)).pages]
    assert all("PRACTICE" in page for page in pages)
    assert "ACCEPTED" in pages[0]
    assert "NOT ACCEPTED" not in pages[0]


def write_report(app: Screen, shown: str) -> None:
    """The report on the screen, its PDF beside the job."""
    app.press("r")
    app.expect(shown)
    app.press("f")
    app.expect(".pdf")


def check_record(folder: Path, home: Path, until: str = "") -> Archive:
    """Practice for good, unaltered, each step before `until` passed, and nothing was answered by a file."""
    (job,) = folder.glob("*.job")
    assert list(folder.glob("*.pdf"))
    held = archive(job)
    assert held.job.practice
    worked = [step.id for step in applicable(held.job) if not step.crosses]
    worked = worked[: worked.index(until)] if until else worked
    said = dict.fromkeys(worked, "not walked")
    for name in worked:
        last = held.job.steps[name].last if name in held.job.steps else None
        said[name] = "not walked" if last is None else last.verdict
    assert {name: verdict for name, verdict in said.items() if not verdict.startswith("pass")} == {}
    assert not any(event.body.get("from_file") for event in held.events)
    verified = finished("verify", job, cwd=home)
    assert verified.returncode == 0, verified.stdout
    return held
