"""Whose turn it is."""

import asyncio
import random

from commission.link.lanes import Lane, Lanes
from tests.virtual_time import run_virtual


def test_most_urgent_first_then_first_come() -> None:
    """Among those that wait the lane decides, within a lane the order of coming."""

    async def main() -> None:
        lanes = Lanes()
        served: list[str] = []

        async def use(lane: Lane, name: str) -> None:
            await lanes.acquire(lane)
            served.append(name)
            lanes.release()

        await lanes.acquire(Lane.READ)
        async with asyncio.TaskGroup() as tasks:
            for lane, name in [(Lane.READ, "r1"), (Lane.COMMAND, "c"), (Lane.READ, "r2"), (Lane.MAKE_SAFE, "m")]:
                tasks.create_task(use(lane, name))
                await asyncio.sleep(0)
            lanes.release()
        assert served == ["m", "c", "r1", "r2"]

    run_virtual(main())


def test_turn_is_never_lost_nor_shared_when_waiters_are_cancelled() -> None:
    """However waiters are cancelled, one at a time has the turn and the last one out leaves it free."""

    async def main(seed: int) -> None:
        draw = random.Random(seed)
        lanes = Lanes()
        inside = 0

        async def use() -> None:
            nonlocal inside
            await lanes.acquire(draw.choice(list(Lane)))
            try:
                inside += 1
                assert inside == 1
                await asyncio.sleep(draw.choice([0, 0.01]))
            finally:
                inside -= 1
                lanes.release()

        users = [asyncio.ensure_future(use()) for _ in range(12)]
        while not all(user.done() for user in users):
            await asyncio.sleep(draw.choice([0, 0, 0.01]))
            draw.choice(users).cancel()
        for user in users:
            assert user.cancelled() or user.exception() is None
        await asyncio.wait_for(lanes.acquire(Lane.READ), 1)

    for seed in range(30):
        run_virtual(main(seed))
