"""Quiet time, and making way for make-safe."""

import asyncio

import pytest

from commission.link.lanes import Lane
from commission.link.turns import Cut, Flight, Turns
from tests.virtual_time import run_virtual, virtual_clock


def test_quiet_time_holds_all_but_make_safe() -> None:
    """A read waits until the quiet time is over; make-safe enters at once, even before a read that waits already."""

    async def main() -> None:
        clock = virtual_clock()
        turns = Turns(clock)
        began_ns = clock.wire_ns()
        turns.stay_quiet_until(began_ns + 300_000_000)
        turns.stay_quiet_until(began_ns + 100_000_000)  # does not shorten it
        entered: list[tuple[Lane, int]] = []

        async def use(lane: Lane) -> None:
            await turns.enter(lane)
            entered.append((lane, clock.wire_ns() - began_ns))
            turns.leave()

        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(use(Lane.READ))
            tasks.create_task(use(Lane.MAKE_SAFE))
        (first, first_ns), (second, second_ns) = entered
        assert (first, first_ns) == (Lane.MAKE_SAFE, 0)
        assert second is Lane.READ
        assert 300_000_000 <= second_ns < 302_000_000

    run_virtual(main())


@pytest.mark.parametrize(("yields_after_s", "ends_after_s"), [(0.0, 0.1), (0.2, 0.2), (0.9, 0.5)])
def test_make_safe_shortens_the_flight_to_when_it_yields(yields_after_s: float, ends_after_s: float) -> None:
    """The flight ends at once, at its yield time, or at its own time-out, whichever is right for it."""

    async def main() -> None:
        loop = asyncio.get_running_loop()
        turns = Turns(virtual_clock())
        began_s = loop.time()

        async def fly() -> Cut | None:
            await turns.enter(Lane.READ)
            flight = None
            try:
                async with asyncio.timeout(0.5) as scope:
                    flight = turns.flight = Flight(Lane.READ, scope, began_s + yields_after_s)
                    await asyncio.sleep(60)
            except TimeoutError:
                pass
            finally:
                turns.leave()
            return flight.cut if flight else None

        async with asyncio.TaskGroup() as tasks:
            flown = tasks.create_task(fly())
            await asyncio.sleep(0.1)
            await turns.enter(Lane.MAKE_SAFE)
            ended_s = loop.time() - began_s
            turns.leave()
        assert ended_s == pytest.approx(ends_after_s, abs=0.002)
        assert flown.result() is (Cut.OVERTAKEN if ends_after_s < 0.5 else None)

    run_virtual(main())


def test_make_safe_does_not_cut_make_safe() -> None:
    """A second make-safe waits for the first."""

    async def main() -> None:
        turns = Turns(virtual_clock())
        await turns.enter(Lane.MAKE_SAFE)
        async with asyncio.timeout(5) as scope:
            turns.flight = Flight(Lane.MAKE_SAFE, scope, 0.0)
            waiting = asyncio.ensure_future(turns.enter(Lane.MAKE_SAFE))
            await asyncio.sleep(0.1)
            assert not waiting.done()
            assert not scope.expired()
        turns.leave()
        await waiting
        turns.leave()

    run_virtual(main())
