"""The desk: jobs found the latest first, sheets, names that are free, and a close that closes everything."""

from pathlib import Path

import pytest

from commission.cli.site import Site, SiteHands
from commission.content import checklists_folder
from commission.record.errors import RecordHeld
from commission.terminal.desk import Desk, sheet_of
from tests.terminal.moving_app import desk_at
from tests.visiting import TESS, Nobody

SHEET = checklists_folder() / "units" / "xv-1101.toml"


@pytest.mark.asyncio
async def test_a_job_that_was_begun_is_found_again(tmp_path: Path) -> None:
    """With its tag, its service, and unsigned; nothing is in motion at a desk without a line."""
    desk = desk_at(tmp_path / "jobs")
    assert desk.jobs() == ()
    visit = desk.begin(SHEET, Nobody(), TESS)
    assert not desk.in_motion
    assert not desk.stop(TESS, "stop key")
    await desk.close("the test is over")
    assert desk.visit is None
    (found,) = desk.jobs()
    assert (found.path, found.tag, found.signed, found.trouble) == (visit.path, "XV-1101", False, "")


@pytest.mark.asyncio
async def test_r03_a_job_gone_on_with_is_unknown(tmp_path: Path) -> None:
    """After any restart the energy state is proved anew; nobody else can hold it meanwhile."""
    desk, other = desk_at(tmp_path), desk_at(tmp_path)
    path = desk.begin(SHEET, Nobody(), TESS).path
    with pytest.raises(RecordHeld):
        other.resume(path, Nobody())
    await desk.leave("left")
    again = desk.resume(path, Nobody())
    assert again.job.energy_log.now.state.value == "unknown"
    await desk.close("left")


def test_sheets_are_those_of_the_folder_and_those_that_came_along(tmp_path: Path) -> None:
    """One's own first."""
    own = tmp_path / "own.toml"
    own.write_text(SHEET.read_text(encoding="utf-8"), encoding="utf-8")
    sheets = desk_at(tmp_path).sheets()
    assert sheets[0] == own
    assert SHEET in sheets
    assert sheet_of(own).identity.tag == "XV-1101"


class Started:
    """A practice unit that is only noted."""

    url, site, ended = "tcp://127.0.0.1:9", "127.0.0.1:9", False

    @property
    def hands(self) -> SiteHands:
        """Nobody answers there."""
        return SiteHands(Site(self.site))

    @property
    def meters(self) -> dict[str, str]:
        """Nothing on its bench."""
        return {}

    def end(self) -> None:
        """It ends."""
        self.ended = True


def has_hands(desk: Desk) -> bool:
    """Whether something can be done at the unit."""
    return desk.hands is not None


@pytest.mark.asyncio
async def test_r15_a_practice_unit_belongs_to_the_job_it_was_started_for(tmp_path: Path) -> None:
    """It waits while its job is left, and ends before another job is opened: none is ever led to it by mistake."""
    units: list[Started] = []
    desk = desk_at(tmp_path)

    def start(*_: object) -> Started:
        units.append(Started())
        return units[-1]

    desk._start_practice = start
    desk.practise(SHEET, 5.0)
    practised = desk.begin(SHEET, Nobody(), TESS).path
    assert has_hands(desk)
    await desk.leave("left")
    assert not has_hands(desk)
    desk.resume(practised, Nobody())
    assert has_hands(desk)
    await desk.leave("left")
    real = desk.begin(SHEET, Nobody(), TESS).path
    assert units[0].ended
    assert not has_hands(desk)
    await desk.leave("left")
    desk.practise(SHEET, 5.0)
    desk.resume(real, Nobody())
    assert units[1].ended
    assert desk.practice is None
    with pytest.raises(ValueError, match="no practice unit can be started"):
        desk.practise_on(desk.visit)  # type: ignore[arg-type]  # it is open
    await desk.close("left")
