"""People bring the valve to an end, and the program sees it stand there."""

import pytest

from commission.procedures.brought import Brought, brought, end_of
from commission.procedures.requests import Begin, SafeEnd
from commission.sheet import End
from tests.analysis.seen import SHEET
from tests.procedures.test_fail_safe_plan import BDV
from tests.supervise.crowd import Crowd, Does, crowded


def came(arguments: dict[str, str], does: Does, start: End = End.CLOSED) -> tuple[Brought, Crowd]:
    """Where it stands then."""
    ended, site = crowded(SHEET, brought(SHEET, arguments), {"bring": does}, start=start, name="brought")
    assert ended.observed is not None, ended
    return ended.observed, site


def test_nothing_is_commanded_from_here() -> None:
    """It is the panel's, or the control room's."""
    begun = next(brought(SHEET, {}))
    assert isinstance(begun, Begin)
    assert (begun.commands, begun.safe_end, dict(begun.guards)) == ((), SafeEnd.SEND_NOTHING, {})


def test_it_goes_on_when_the_valve_stands_there() -> None:
    """Nobody has to say so: hands are busy."""
    found, site = came({"end": "away"}, Does((("selector", "LOCAL"), ("local_open", None))))
    assert (found.end, found.there) == (End.OPEN, True)
    assert site.truth().open_limit
    assert not site.unit.writes


def test_it_may_stand_there_already() -> None:
    """Then two seconds are enough."""
    found, site = came({"end": "closed"}, Does(say=""))
    assert found.there
    assert site.clock.unit_ns() < 1010 * 1_000_000_000


def test_who_cannot_ends_it() -> None:
    """With the reason; nothing was tested."""
    found, _ = came({}, Does(say="Cannot: no oil"))
    assert (found.there, found.words) == (False, "Cannot: no oil")


def test_nobody_does_it() -> None:
    """After the time that people have."""
    found, _ = came({}, Does(say="in a moment"))
    assert not found.there
    assert "not open in" in found.words


def test_ends_by_their_place_or_by_what_they_are() -> None:
    """The safe end is the sheet's."""
    assert [end_of(SHEET, {"end": name}) for name in ("open", "closed", "safe", "away")] == [
        End.OPEN, End.CLOSED, End.CLOSED, End.OPEN,
    ]  # fmt: skip
    assert end_of(BDV, {"end": "safe"}) is End.OPEN
    with pytest.raises(ValueError, match="sideways"):
        end_of(SHEET, {"end": "sideways"})
