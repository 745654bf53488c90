"""Bringing the valve back: from wherever it was stopped, seen where somebody else brought it, and never past a trip."""

import pytest

from commission.analysis.observed import StrokeEnd, StrokeObserved
from commission.practice.condition import HEALTHY, Condition
from commission.procedures.bring_back import bring_back, is_back
from commission.sheet import End
from tests.analysis.seen import SHEET
from tests.supervise.direct import DirectSite, directly


def stand_off(site: DirectSite) -> None:
    """Closed a little at the panel, and stopped there."""
    site.desk.act("selector", "LOCAL")
    site.desk.act("local_close")
    while site.truth().travel_pct > 90:
        site.unit.unit.advance_ns(20_000_000)
    site.desk.act("local_stop")
    site.desk.act("selector", "REMOTE")
    site.unit.unit.advance_ns(2_000_000_000)


def test_it_comes_back_from_midway() -> None:
    """With one command, to its limit; nothing is timed."""

    async def main() -> None:
        site = DirectSite(SHEET, HEALTHY, End.OPEN, 3)
        stand_off(site)
        assert 50 < site.truth().travel_pct < 95
        ended = await site.run(bring_back(SHEET, "L1-back 1"), name="bring_back")
        assert ended.how == "finished"
        assert ended.observed is not None
        assert is_back(ended.observed) == (True, "brought back to its open end")
        assert site.truth().open_limit
        assert [role for _, role in site.unit.writes] == ["command_open"]

    directly(main())


def test_what_local_control_brought_back_is_seen_and_nothing_is_sent() -> None:
    """Who commanded it is not the laptop (safety rule R19)."""

    async def main() -> None:
        site = DirectSite(SHEET, HEALTHY, End.OPEN, 3)
        ended = await site.run(bring_back(SHEET, "L1-back 1"), name="bring_back")
        assert ended.observed is not None
        assert ended.observed.commanded_by == "local control"
        assert is_back(ended.observed) == (True, "seen at its open end; nothing was sent")
        assert not site.unit.writes

    directly(main())


def test_one_that_does_not_come_back_is_unavailable() -> None:
    """Said aloud, and no pass: the pump's motor is off."""

    async def main() -> None:
        site = DirectSite(SHEET, Condition(), End.OPEN, 3)
        stand_off(site)
        site.desk.act("motor_isolator", False)
        ended = await site.run(bring_back(SHEET, "L1-back 1"), name="bring_back")
        if ended.observed is not None:
            back, words = is_back(ended.observed)
            assert not back
            assert "VALVE UNAVAILABLE" in words
        assert not site.truth().open_limit

    directly(main())


def test_r22_nothing_is_sent_against_a_trip() -> None:
    """The valve is not ours: the guard that sees the demand ends it before the command."""

    async def main() -> None:
        site = DirectSite(SHEET, HEALTHY, End.OPEN, 3)
        stand_off(site)
        site.desk.act("esd_button", True)
        ended = await site.run(bring_back(SHEET, "L1-back 1"), name="bring_back")
        assert ended.how in ("aborted", "no test")
        assert not site.unit.writes

    directly(main())


@pytest.mark.parametrize("ended", [StrokeEnd.TIMED_OUT, StrokeEnd.REFUSED, StrokeEnd.NOT_READY])
def test_anything_but_home_is_not_back(ended: StrokeEnd) -> None:
    """In the words of how it ended."""
    observed = StrokeObserved(test="L1-back 1", direction=End.OPEN, command=None, seen=(), ended=ended)
    assert is_back(observed) == (False, ended.value)
