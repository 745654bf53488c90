"""The program was not awake: a closed lid, a loop that came back late."""

import asyncio
from datetime import UTC, datetime, timedelta

import pytest

from commission.clock import Clock
from commission.supervise.watchdog import TICK_S, watch
from tests.virtual_time import VirtualLoop, run_virtual


class Laptop:
    """A monotonic clock and a calendar that can be pulled apart."""

    def __init__(self) -> None:
        self.asleep_s = 0.0
        self.clock = Clock(
            wire_ns=lambda: round(asyncio.get_running_loop().time() * 1e9),
            utc=lambda: (
                datetime(2026, 5, 12, tzinfo=UTC) + timedelta(seconds=asyncio.get_running_loop().time() + self.asleep_s)
            ),
            spin_s=0,
        )


async def _lost(laptop: Laptop, during: "asyncio.Future[None] | None" = None, *, sleep_s: float = 0.0) -> list[float]:
    """What the watchdog said in some seconds, with the lid closed for `sleep_s` in the middle."""
    said: list[float] = []
    watching = asyncio.ensure_future(watch(laptop.clock, said.append))
    await asyncio.sleep(1.1)
    laptop.asleep_s += sleep_s
    if during is not None:
        await during
    await asyncio.sleep(2)
    watching.cancel()
    await asyncio.wait({watching})
    return said


@pytest.mark.parametrize("speed", [1.0, 20.0])
def test_nothing_is_said_of_an_ordinary_day(speed: float) -> None:
    """Awake and on time, at any practice speed, and also when the speed changes at connect."""

    async def main() -> list[float]:
        laptop = Laptop()
        laptop.clock.run_at(speed)
        asyncio.get_running_loop().call_later(1.6, laptop.clock.run_at, 21.0 - speed)
        return await _lost(laptop)

    assert run_virtual(main()) == []


@pytest.mark.parametrize("speed", [1.0, 20.0])
def test_closed_lid_is_seen_by_the_calendar(speed: float) -> None:
    """The monotonic clock stood, the calendar ran on by an hour: told once, with the hour."""

    async def main() -> list[float]:
        laptop = Laptop()
        laptop.clock.run_at(speed)
        return await _lost(laptop, sleep_s=3600)

    (lost_s,) = run_virtual(main())
    assert lost_s == pytest.approx(3600, abs=0.01)


def test_loop_that_comes_back_late_is_seen() -> None:
    """The process stood still for five seconds: told once, with what was lost."""

    async def main() -> list[float]:
        loop = asyncio.get_running_loop()
        assert isinstance(loop, VirtualLoop)
        loop.call_later(1.3, loop.jump, 5.0)
        return await _lost(Laptop())

    (lost_s,) = run_virtual(main())
    assert lost_s == pytest.approx(5.0, abs=TICK_S)


def test_clock_set_back_is_no_sleep() -> None:
    """A calendar that is corrected backwards, or by a second, loses nothing."""

    async def main() -> list[float]:
        laptop = Laptop()
        return await _lost(laptop, sleep_s=-3600) + await _lost(laptop, sleep_s=1.0)

    assert run_virtual(main()) == []
