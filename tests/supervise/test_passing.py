"""A wait that is being shortened: a minute at a time, a second of it lived, ended by the test or by the unit."""

import asyncio

import pytest

from commission.supervise.passing import LIVED_S, SKIPPED_S, Passing
from tests.virtual_time import run_virtual, virtual_clock


class AtUnit:
    """Notes what passed there; refuses from the `refuses`-th on."""

    def __init__(self, refuses: int = 1000) -> None:
        self.parts: list[float] = []
        self._refuses = refuses

    async def __call__(self, seconds: float) -> None:
        """Let it pass."""
        if len(self.parts) + 1 >= self._refuses:
            raise OSError("the unit is gone")
        self.parts.append(seconds)


def test_a_second_of_each_minute_is_lived() -> None:
    """150 s pass as 59, 59 and 32; between them, samples go on for a second of unit time."""

    async def main() -> None:
        clock, unit = virtual_clock(), AtUnit()
        passing, began_ns = Passing(150, unit), clock.unit_ns()
        samples = 0
        while not passing.is_over:
            await passing.go_on(clock)
            samples += 1
            await clock.sleep_unit(LIVED_S / 4)
        await passing.wait()
        assert unit.parts == [SKIPPED_S, SKIPPED_S, 150 - 2 * SKIPPED_S]
        assert passing.passed_s == 150
        assert samples == pytest.approx(9, abs=1)
        assert (clock.unit_ns() - began_ns) / 1e9 == pytest.approx(150 + 2 * LIVED_S, abs=0.5)

    run_virtual(main())


def test_it_ends_with_the_test() -> None:
    """What has passed until then is known, and nothing passes afterwards."""

    async def main() -> None:
        clock, unit = virtual_clock(), AtUnit()
        passing = Passing(600, unit)
        await passing.go_on(clock)
        passing.end()
        await clock.sleep_unit(5)
        await passing.go_on(clock)
        await passing.wait()
        assert (unit.parts, passing.passed_s) == ([SKIPPED_S], SKIPPED_S)
        passing.end()  # harmless

    run_virtual(main())


def test_a_unit_that_will_not_is_told_to_who_asked_and_the_clock_stays() -> None:
    """The second jump fails: the clock has jumped once, the trouble is raised where it is waited for."""

    async def main() -> None:
        clock = virtual_clock()
        passing = Passing(600, AtUnit(refuses=2))
        await passing.go_on(clock)
        at_ns = clock.unit_ns()
        await asyncio.sleep(2)
        await passing.go_on(clock)
        assert passing.is_over
        with pytest.raises(OSError, match="gone"):
            await passing.wait()
        assert (clock.unit_ns() - at_ns) / 1e9 == pytest.approx(2, abs=0.1)
        assert passing.passed_s == SKIPPED_S

    run_virtual(main())
