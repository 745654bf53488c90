"""The unit by the clock."""

import asyncio

import pytest

from commission.practice.lifetime import Lifetime
from tests.practice.made import SHEET, MakeUnit, unit_of
from tests.virtual_time import run_virtual, virtual_clock


def test_unit_lives_as_long_as_unit_time(make_unit: MakeUnit) -> None:
    """Two seconds of wire time at speed 30 are a minute of the unit's life; silence is counted on the wire."""

    async def main() -> None:
        clock = virtual_clock()
        clock.run_at(30.0)
        life = Lifetime(make_unit(), clock)
        await asyncio.sleep(2.0)
        life.catch_up()
        assert 59.9 < life.unit.now_s <= 60.0
        assert life.unit.link_silent_s == 0.0, "contact that never was cannot be lost"
        life.asked()
        await asyncio.sleep(3.0)
        life.catch_up()
        assert 2.99 < life.unit.link_silent_s < 3.01

    run_virtual(main())


def test_who_looks_at_a_unit_without_a_link_keeps_it_company() -> None:
    """A look is as good as a request: the silence begins anew, and the unit lives until then."""

    async def main() -> None:
        clock = virtual_clock()
        life = Lifetime(unit_of(SHEET), clock)
        await clock.sleep_wire(5.0)
        assert life.silent_s == pytest.approx(5.0)
        life.looked_at()
        assert life.silent_s == 0.0
        assert life.unit.now_s == pytest.approx(5.0, abs=0.03)

    run_virtual(main())


def test_with_its_lead_out_the_unit_counts_the_silence_in_its_own_time(make_unit: MakeUnit) -> None:
    """So that contact is lost after the sheet's time at any speed, however often people look at it."""

    async def main() -> None:
        unit = make_unit()
        life = Lifetime(unit, virtual_clock())
        life.asked()
        life.catch_up()
        unit.side.link_cut = True
        unit.advance(9.0)
        life.looked_at()
        assert unit.readings()["alarm_relay"] == 1.0
        unit.advance(2.0)
        assert unit.readings()["alarm_relay"] == 0.0
        unit.side.link_cut = False
        life.asked()
        life.catch_up()
        unit.advance(0.1)
        assert unit.readings()["alarm_relay"] == 1.0

    run_virtual(main())
