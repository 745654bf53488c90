"""Safety rule R16: connecting and leaving are steps: who else is there, who agreed, what the unit does without us."""

from pathlib import Path

import msgspec
import pytest

from commission.job.bodies import Connected, Disconnected, body_of
from commission.link.faults import PlanError
from commission.record.reader import Reader
from tests.supervise.rig import demo_sheet, rig
from tests.virtual_time import run_virtual
from tests.visiting import MARA, TESS, visiting


def test_r16_who_is_on_the_line_and_who_agreed_is_recorded(tmp_path: Path) -> None:
    """And on leaving, what the sheet says that the unit does then."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            await there.visit.disconnect(TESS)

    run_virtual(main())
    with Reader(tmp_path / "XV-1101.job") as reader:
        found = [body_of(event.kind, event.body) for event in reader.events()]
    connected = next(body for body in found if isinstance(body, Connected))
    left = next(body for body in found if isinstance(body, Disconnected))
    assert (connected.other_master, connected.agreed_by) == ("none", MARA)
    assert connected.make_safe_s > 0
    assert left.unit_will == "holds; alarm after 10 s"


def test_r16_connecting_and_reading_write_nothing(tmp_path: Path) -> None:
    """Every frame of meeting a unit and looking at it is a read."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            await there.visit.read(["travel", "cylinder_pressure"])
            frames = there.unit.server.frames
            assert len(frames) > 10
            assert not any(frame.is_write for frame in frames)

    run_virtual(main())


def test_r16_points_that_reading_changes_are_not_polled(tmp_path: Path) -> None:
    """A sheet that marks one has it refused, by name, in a plan and in a single read; no frame is sent for it."""
    sheet = demo_sheet()
    points = tuple(
        msgspec.structs.replace(point, read_clears=True) if point.role == "travel" else point for point in sheet.points
    )

    async def main() -> None:
        async with rig(tmp_path, sheet=msgspec.structs.replace(sheet, points=points)) as site:
            frames = len(site.server.frames)
            with pytest.raises(PlanError, match="travel"):
                await site.link.plan(["travel"])
            with pytest.raises(PlanError, match="travel"):
                await site.link.read(["travel"])
            assert len(site.server.frames) == frames

    run_virtual(main())
