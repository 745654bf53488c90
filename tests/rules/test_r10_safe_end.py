"""
Safety rule R10: whatever happens when, a motion ends in one of four known ways, and nothing is sent past it.

Visits to mid-stroke with something going wrong at a drawn moment: stop key, guard, ESD, LOCAL, silence, a lost line, a
cancelled task, or two of them. The draws are seeded, sixteen here and two hundred in the deep run; the unit's own log
of frames is the judge.
"""

import asyncio
import random
from collections.abc import Callable
from pathlib import Path

import pytest

from commission.analysis.observed import StrokeObserved
from commission.job.bodies import CommandSent, MotionEnded
from commission.procedures.full_stroke import full_stroke
from commission.sheet import End
from commission.supervise.order import Ended, MotionRefused
from commission.supervise.safe_end import LIFE_S, SafeEndSeen
from tests.supervise.rig import TESS, Frame, Site, rig
from tests.virtual_time import run_virtual

TROUBLE: dict[str, Callable[[Site, "asyncio.Task[Ended[StrokeObserved]]"], object]] = {
    "stop key": lambda site, _: site.supervisor.stop(TESS, "stop key"),
    "program": lambda site, _: site.supervisor.stop("program", "told to end"),
    "cancelled": lambda _, running: running.cancel(),
    "ESD": lambda site, _: site.desk.act("esd_button", True),
    "LOCAL": lambda site, _: site.desk.act("selector", "LOCAL"),
    "low fluid": lambda site, _: site.desk.act("lift_float", True),
    "silent": lambda site, _: setattr(site.server, "deaf", True),
    "line cut": lambda site, _: site.drop_line(),
    "heard again": lambda site, _: setattr(site.server, "deaf", False),
    "unanswered": lambda site, _: setattr(site.server, "mute_writes", 2),
}
TAKES_OVER = {"ESD", "LOCAL"}


SEEDS = [*range(16), *(pytest.param(seed, marks=pytest.mark.deep) for seed in range(16, 200))]


@pytest.mark.parametrize("seed", SEEDS)
def test_r10_every_ending_is_known_and_nothing_is_sent_past_it(tmp_path: Path, seed: int) -> None:
    """
    Safe end not needed, confirmed, unconfirmed or withheld; no write after its life, no motion command but the one that
    leave was given for, and none without leave; the record says what the unit saw.
    """
    draw = random.Random(seed)
    plan = sorted((draw.uniform(0.0, 3.0), draw.choice(list(TROUBLE))) for _ in range(draw.choice((1, 2, 2, 3))))
    rtu, start = draw.random() < 0.2, draw.choice(("open", "open", "closed"))

    async def main() -> None:
        async with rig(tmp_path, start=start, rtu=rtu, speed=draw.choice((1.0, 4.0)), seed=seed) as site:
            unleaved = _writes_without_leave(site)
            to = End.CLOSED if start == "open" else End.OPEN
            running = asyncio.get_running_loop().create_task(site.run(full_stroke(site.sheet, to, f"K1 {to} 1")))
            await _go_wrong(site, running, plan)
            if isinstance(running.exception(), MotionRefused):
                assert "stopped before it began" in str(running.exception())
                assert not site.writes()
                return
            ended = running.result()
            assert ended.safe_end.seen in set(SafeEndSeen)
            done_s = asyncio.get_running_loop().time()
            await asyncio.sleep(4)
            site.server.deaf = False
            writes = site.writes()
            assert all(frame.at_s <= done_s + 0.02 for frame in writes), "nothing after the end"
            assert len(site.writes("command_open")) + len(site.writes("command_close")) <= 1
            assert not unleaved
            if ended.safe_end.seen is SafeEndSeen.CONFIRMED:
                assert site.truth().wanted == "stopped", plan
            stops = site.writes("command_stop")
            if stops:
                assert stops[-1].at_s - stops[0].at_s <= LIFE_S + 0.1
            assert site.slot.current is None
            _check_record(site, ended.how, len(stops))

    run_virtual(main())


async def _go_wrong(site: Site, running: "asyncio.Task[Ended[StrokeObserved]]", plan: list[tuple[float, str]]) -> None:
    """Let each trouble happen at its time, as long as the motion is open."""
    loop = asyncio.get_running_loop()
    begun_s = loop.time()
    for at_s, what in plan:
        await asyncio.wait({running}, timeout=max(0.0, begun_s + at_s - loop.time()))
        if not running.done():
            TROUBLE[what](site, running)
    await asyncio.wait({running}, timeout=2.0)
    if not running.done():
        site.supervisor.stop(TESS, "long enough")
    await asyncio.wait({running})


def _writes_without_leave(site: Site) -> list[str]:
    """Fills with the motion writes that reach the unit while the slot is empty."""
    found: list[str] = []
    motions = {site.sheet.wire_address(point) for point in site.sheet.points if point.write == "motion"}

    def look(frame: Frame) -> None:
        if frame.is_write and frame.address in motions and site.slot.current is None:
            found.append(str(frame))

    site.server.on_frame = look
    return found


def _check_record(site: Site, how: str, stops: int) -> None:
    (ended,) = site.bodies(MotionEnded)
    assert ended.how == how
    said = [body for body in site.bodies(CommandSent) if body.purpose == "safe end" and body.outcome == "answered"]
    assert len(said) <= stops


@pytest.mark.parametrize("what", sorted(TAKES_OVER))
def test_r10_nothing_is_sent_after_a_take_over_was_seen(tmp_path: Path, what: str) -> None:
    """A quarter of a second after ESD or LOCAL no frame but reads reaches the unit, whatever is pressed."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            running = asyncio.get_running_loop().create_task(
                site.run(full_stroke(site.sheet, End.CLOSED, "K1 closed 1"))
            )
            await site.until(lambda truth: truth.travel_pct < 70)
            TROUBLE[what](site, running)
            await asyncio.sleep(0.25)
            writes = len(site.writes())
            for _ in range(5):
                site.supervisor.stop(TESS, "stop key")
                await asyncio.sleep(0.1)
            assert (await running).safe_end.seen is SafeEndSeen.WITHHELD
            assert len(site.writes()) == writes == 1

    run_virtual(main())
