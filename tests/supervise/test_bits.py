"""Bits that change are recorded once, whoever reads them."""

import asyncio
from pathlib import Path

from commission.job.bodies import BitsChanged, Body
from commission.procedures.full_stroke import full_stroke
from commission.sheet import End
from commission.sheet.decode import Reading, Readings
from commission.supervise.bits import BitWatch
from tests.supervise.rig import rig
from tests.supervise.test_background import reading
from tests.supervise.test_trail import Kept
from tests.virtual_time import run_virtual


def readings(at_ms: int, **values: float) -> Readings:
    """Readings of bits, each within a millisecond of `at_ms`."""
    at_ns = at_ms * 1_000_000
    return Readings(1, at_ns, {role: Reading(value, at_ns, 1_000_000) for role, value in values.items()})


def changed_ms(body: Body) -> tuple[str, dict[str, tuple[int, int]], float, float]:
    """A change as run, roles, and its span in milliseconds."""
    assert isinstance(body, BitsChanged)
    return body.run, dict(body.changes), body.after_ns / 1e6, body.by_ns / 1e6


def test_first_reading_is_no_change_and_numbers_are_no_bits() -> None:
    """What a bit was before it was ever read is not known; travel is not an event."""
    kept = Kept()
    watch = BitWatch(kept)
    watch.seen(readings(10, remote=1.0, travel=0.2), "r1")
    watch.seen(readings(20, remote=1.0, travel=0.3), "r1")
    assert not kept.bodies


def test_bits_read_apart_are_events_apart() -> None:
    """One block was read later than the other: each change keeps the span of its own readings."""
    kept = Kept()
    watch = BitWatch(kept)
    watch.seen(readings(10, remote=1.0, esd_healthy=1.0), "r1")
    later = readings(30, remote=0.0, esd_healthy=0.0, motor_running=1.0)
    by_role = {**later.by_role, "esd_healthy": Reading(0.0, 34_000_000, 1_000_000)}
    watch.seen(Readings(2, 34_000_000, by_role), "r1")
    assert [changed_ms(body) for body in kept.bodies] == [
        ("r1", {"remote": (1, 0)}, 9.0, 31.0),
        ("r1", {"esd_healthy": (1, 0)}, 9.0, 35.0),
    ]


def test_change_between_a_run_and_the_reading_beside_the_walk_is_found() -> None:
    """A run's last sample and the first one after it are neighbours like any others."""
    kept = Kept()
    watch = BitWatch(kept)
    watch.seen(readings(10, remote=1.0), "r1")
    watch.seen(readings(900, remote=0.0), "")
    assert [changed_ms(body) for body in kept.bodies] == [("", {"remote": (1, 0)}, 9.0, 901.0)]


def test_selector_turned_beside_the_walk_is_an_event(tmp_path: Path) -> None:
    """Nothing moves and nobody tests: the reading beside the walk still says when the selector was turned."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            await site.run(full_stroke(site.sheet, End.CLOSED, "K1 closed 1"))
            async with reading(site):
                await asyncio.sleep(2)
                before_ns = site.clock.unit_ns()
                site.desk.act("selector", "LOCAL")
                await asyncio.sleep(2)
            changed = [body for body in site.bodies(BitsChanged) if "remote" in body.changes]
            assert [body.run for body in changed] == [""]
            assert changed[0].changes["remote"] == (1, 0)
            scan_ns = round(site.sheet.link.scan_s * 1e9)
            assert changed[0].after_ns - scan_ns <= before_ns <= changed[0].by_ns

    run_virtual(main())
