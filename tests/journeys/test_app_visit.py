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
from tests.journeys.short_walk import short_checklist
from tests.journeys.site import now_s
from tests.journeys.walker import Walker

pytestmark = [NEEDS_TMUX, pytest.mark.slow, pytest.mark.alone]

SPEED = 20.0
WHOLE_SPEED = 5.0
"""As the app's own practice: a jog is ended by a key, and a closing valve gives it 0.8 s of wire time at this speed."""

SIGNERS = 2
UNTIL = "I2"
"""The first step whose own test watches hands at the unit."""

NO_COLOR = pytest.param((80, 24), False, id="80x24 NO_COLOR")
COLOURED = (pytest.param((80, 24), True, id="80x24"), pytest.param((120, 40), True, id="120x40"))
KINDS = (NO_COLOR, *COLOURED)
ONE_KIND = (NO_COLOR, *(pytest.param(*kind.values, id=kind.id, marks=pytest.mark.deep) for kind in COLOURED))
"""One of them in CI, which has forty minutes; the others by name."""


class Visiting:
    """
    A visit in a window, with somebody at its keys.

    Args:
        screen: Opens the window.

        home: Where its jobs are kept, in a folder of their own.

        note: Notes figures beside the test.

    Attributes:
        speed: Of the practice unit.
    """

    def __init__(self, screen: Callable[..., Screen], home: Path, note: Callable[[str, object], None]) -> None:
        self._open = screen
        self._home = home
        self._note = note
        self.folder = home / "jobs"
        self.speed = SPEED

    def walk(self, size: tuple[int, int], *more: object, colour: bool, until: str = "") -> Screen:
        """From the jobs screen to a step, or to the end of the checklist; then letters are keys."""
        begun_s = now_s()
        app = self._open("practice", "--out", self.folder, "--speed", self.speed, *more, size=size, colour=colour)
        walker = Walker(app, self.folder, self.speed)
        walker.start()
        walker.until(until or "no step")
        walker.to_keys()
        assert bool(app.colours()) is colour
        self._note("walked by keys s", round(now_s() - begun_s, 1))
        self._note("prompts, keys", (walker.prompts, len(app.pressed)))
        return app

    def to_the_record(self, size: tuple[int, int], *more: object, colour: bool) -> Archive:
        """The whole of a checklist by keys, its report on the screen and as PDF: accepted, signed, recomputed."""
        app = self.walk(size, *more, colour=colour)
        assert "IN OPERATION" in app.shown().splitlines()[0]
        write_report(app, "ACCEPTED")
        held = check_record(self.folder, self._home)
        assert not outcome(held.job, interim=False).against
        assert held.job.energy_log.now.state is EnergyState.IN_OPERATION
        assert len({signature.by for signature in held.job.register.signatures}) == SIGNERS
        (pdf,) = self.folder.glob("*.pdf")
        pages = [page.extract_text() for page in PdfReader(str(pdf)).pages]
        assert all("PRACTICE" in page for page in pages)
        assert "ACCEPTED" in pages[0]
        assert "NOT ACCEPTED" not in pages[0]
        return held


@pytest.fixture
def visit(screen: Callable[..., Screen], tmp_path: Path, record_property: Callable[[str, object], None]) -> Visiting:
    """A visit that can be walked in a window of any size."""
    return Visiting(screen, tmp_path, record_property)


@pytest.mark.timeout(300)
@pytest.mark.parametrize(("size", "colour"), KINDS)
def test_the_short_visit_by_keys(
    visit: Visiting,
    tmp_path: Path,
    size: tuple[int, int],
    colour: bool,  # noqa: FBT001  # a parameter of the test
) -> None:
    """
    From the wire to the record, by keys alone, on a site's own short list.

    Connect, permit, isolate to zero, release, prove bits and commands, time strokes both ways, hand back, sign, report.
    """
    held = visit.to_the_record(size, "--checklist", short_checklist(tmp_path), colour=colour)
    assert held.job.checklist.name == "short"
    timed = {run.begun.arguments["direction"] for run in held.job.runs.values() if run.figures}
    assert timed == {"open", "closed"}


@pytest.mark.timeout(600)
@pytest.mark.parametrize(("size", "colour"), ONE_KIND)
def test_a_visit_by_keys_up_to_control_power(
    visit: Visiting,
    tmp_path: Path,
    size: tuple[int, int],
    colour: bool,  # noqa: FBT001  # a parameter of the test
) -> None:
    """Every prompt is answered by keys and every lock, bleed and gauge worked by keys; the record says so."""
    app = visit.walk(size, colour=colour, until=UNTIL)
    assert "CONTROL" in app.shown().splitlines()[0]
    write_report(app, "interim report")
    app.press("C-q")
    app.until(app.gone, "the end of the app")
    held = check_record(visit.folder, tmp_path, until=UNTIL)
    assert held.job.energy_log.now.state is EnergyState.CONTROL


@pytest.mark.deep
@pytest.mark.timeout(3600)
@pytest.mark.parametrize(("size", "colour"), KINDS)
def test_a_whole_visit_by_keys(
    visit: Visiting,
    size: tuple[int, int],
    colour: bool,  # noqa: FBT001  # a parameter of the test
) -> None:
    """From the jobs screen to the signatures, by keys: accepted, and every figure recomputes from the record."""
    visit.speed = WHOLE_SPEED
    visit.to_the_record(size, colour=colour)


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
