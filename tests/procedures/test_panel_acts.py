"""J2, J3 and J4 played out on real practice units by people who do, or do not, what they should."""

from collections.abc import Mapping
from typing import Any

import pytest

from commission.analysis.panel_acts import ActsObserved, Follows
from commission.practice.acts import NotDone
from commission.practice.condition import HEALTHY, Condition
from commission.procedures.panel_acts import acts_of, panel_acts, panel_acts_longest_s
from commission.procedures.requests import Begin, SafeEnd
from commission.sheet import End, Sheet
from tests.analysis.seen import SHEET
from tests.procedures.test_fail_safe_plan import BDV, FCV
from tests.supervise.crowd import Crowd, Does, crowded
from tests.supervise.direct import DirectSite

Deeds = tuple[Any, ...]


def stem_way(site: DirectSite) -> str:
    """Which way the stem is from where somebody saw it last; the truth, by the mark."""
    now = site.truth().stem_pct
    was = getattr(site, "stem_was", 0.0)
    vars(site)["stem_was"] = now
    return "still" if abs(now - was) < 0.2 else "open" if now > was else "closed"


def jog(first: str, seconds: float, *before: Deeds) -> Does:
    """From the panel, let run, stopped."""
    return Does((*before, (first, None), ("wait", seconds), ("local_stop", None)), "stopped")


def refused(*deeds: Deeds) -> Does:
    """The last deed is tried, and what came of it said."""
    *others, tried = deeds

    def say(site: DirectSite) -> str:
        try:
            site.desk.act(tried[0], None, which=tried[1] if len(tried) > 1 else "")
        except NotDone as no:
            return f"refused: {no}"
        return "obeyed"

    return Does((*others, ("wait", 0.5)), say)


ROOM = "other_master_orders"
LOCAL: Deeds = ("selector", "LOCAL")
STOP = {
    "stop opening": jog("local_open", 30.0, LOCAL, ("wait", 0.5)),
    "stop closing": jog("local_close", 0.5),
    "esd": Does((("esd_button", True), ("wait", 12.0)), "pressed"),
    "reset": Does((("esd_button", False), ("wait", 0.5), ("local_reset", None)), "pressed"),
}
SELECTOR = {
    "begin between": jog("local_open", 60.0, LOCAL, ("wait", 0.5)),
    "LOCAL OPEN by control room": refused(LOCAL, ("wait", 0.5), (ROOM, "open")),
    "LOCAL CLOSE by control room": refused((ROOM, "close")),
    "OFF OPEN by control room": refused(("selector", "OFF"), ("wait", 0.5), (ROOM, "open")),
    "OFF CLOSE by control room": refused((ROOM, "close")),
    "OFF OPEN by panel": refused(("local_open",)),
    "OFF CLOSE by panel": refused(("local_close",)),
    "REMOTE OPEN by panel": refused(("selector", "REMOTE"), ("wait", 0.5), ("local_open",)),
    "REMOTE CLOSE by panel": refused(("local_close",)),
    "stored command": Does((LOCAL, ("wait", 0.5), ("selector", "REMOTE"), ("wait", 1.0)), "turned"),
    "REMOTE by control room": Does(((ROOM, None, "open"), ("wait", 10.0), ("local_stop", None)), "stopped"),
}
JOG = {
    "jog opening": jog("local_open", 20.0, LOCAL, ("wait", 0.5)),
    "jog opening stem": Does(say=stem_way),
    "jog closing": jog("local_close", 0.5),
    "jog closing stem": Does(say=stem_way),
}


def made(
    acts: str, said: Mapping[str, Does], sheet: Sheet = SHEET, condition: Condition = HEALTHY
) -> tuple[ActsObserved, Crowd]:
    """One list, act by act."""
    procedure = panel_acts(sheet, {"acts": acts, "test": "J 1"})
    ended, site = crowded(sheet, procedure, said, condition=condition, start=End.CLOSED, name="panel_acts")
    assert ended.observed is not None, ended
    assert not site.unit.writes
    return ended.observed, site


def test_r10_nothing_is_sent_in_any_position_of_the_selector() -> None:
    """What is tried in LOCAL is tried by the control room: the laptop has no word there."""
    begun = next(panel_acts(SHEET, {"acts": "selector"}))
    assert isinstance(begun, Begin)
    assert (begun.commands, begun.safe_end, dict(begun.guards)) == ((), SafeEnd.SEND_NOTHING, {})


@pytest.mark.parametrize(("acts", "said"), [("stop", STOP), ("selector", SELECTOR), ("jog", JOG)])
def test_a_unit_in_good_order_passes_each_list(acts: str, said: Mapping[str, Does]) -> None:
    """Every act of it was asked for, in its order."""
    found, site = made(acts, said)
    assert found.verdict[0] is True, found.verdict
    assert [one.act.id for one in found.seen] == [act.id for act in acts_of(SHEET, {"acts": acts})]
    assert [ask.id for ask in site.asked] == list(said)


def test_the_esd_and_its_reset_end_the_list_of_stops() -> None:
    """Home, reset, and nothing has moved since."""
    found, site = made("stop", STOP)
    assert [one.act.follows for one in found.seen] == [Follows.OPENS, Follows.CLOSES, Follows.SAFE, Follows.STAYS]
    assert not site.truth().tripped
    assert site.truth().travel_pct < 1


def test_swapped_outputs_are_found_by_the_stem_and_by_travel() -> None:
    """Guide J4: opens on close."""
    swapped, _ = made("jog", JOG, condition=Condition(directions_swapped=True))
    assert swapped.verdict[0] is False


def test_a_sheared_stem_stands_still_while_travel_moves() -> None:
    """Guide 3.4, 39: why limits on the actuator are no proof."""
    found, _ = made("jog", JOG, condition=Condition(stem_sheared=True))
    assert "the stem went still, not open" in found.verdict[1]


def test_a_stored_command_is_found() -> None:
    """Somebody sends OPEN after the turn, as a unit would that had kept it."""
    kept = Does(
        (LOCAL, ("wait", 0.5), ("selector", "REMOTE"), ("wait", 0.5), (ROOM, None, "open"), ("wait", 8.0)), "turned"
    )
    found, _ = made("selector", {**SELECTOR, "stored command": kept})
    passed, words = found.verdict
    assert passed is False
    assert "stored command: the valve did not stop" in words or "stored command: the valve moved" in words


def test_a_dump_that_does_not_open_fails_the_esd() -> None:
    """It did not go to its safe end."""
    found, _ = made("stop", STOP, condition=Condition(dump_stuck=True))
    assert "esd: the valve did not go to its closed end" in found.verdict[1]


def test_who_cannot_leaves_the_list_there() -> None:
    """No verdict on what was not tried."""
    found, _ = made("stop", {**STOP, "esd": Does(say="cannot: sealed by the owner")})
    assert found.verdict == (None, "esd: cannot: sealed by the owner")
    assert len(found.seen) == 2


def test_each_unit_has_the_list_that_it_allows() -> None:
    """A vent is jogged closed first; a list that is none is named."""
    assert acts_of(BDV, {"acts": "jog"})[0].follows is Follows.CLOSES
    assert [act.id for act in acts_of(FCV, {"acts": "stop"})] == ["stop opening", "stop closing", "esd", "reset"]
    with pytest.raises(ValueError, match="one of stop, selector, jog"):
        acts_of(SHEET, {"acts": "dance"})
    assert panel_acts_longest_s(SHEET, {"acts": "selector"}) > panel_acts_longest_s(SHEET, {"acts": "jog"})
