"""N1 to N9 played at the practice unit itself: caused, seen, timed, taken away, and what is wrong named."""

from collections.abc import Callable

import pytest

from commission.analysis.protection import RESTARTS, TIME, ProtectionSeen, protection_figures, protection_limits
from commission.practice.condition import HEALTHY
from commission.practice.site import SiteDesk
from commission.practice.unit import PracticeUnit
from commission.procedures.catalogue import CATALOGUE
from commission.procedures.protection import TEST_TIMED, protection
from commission.sheet import End, Sheet
from tests.procedures.played import play
from tests.procedures.practised import Practised
from tests.sheet.common_practice import run_180_s_six_starts_in_15_min
from tests.sheet.xv import xv_1101

SHEET = xv_1101()


def people(sheet: Sheet = SHEET, start: End = End.CLOSED) -> Practised:
    """Beside a unit in good order, at this end."""
    found = Practised(PracticeUnit(sheet, condition=HEALTHY, start=start))
    found.unit.advance(1.0)
    found.said = {"panel": "ALARM lit", "room": "XV-1101 TROUBLE, 14:02:11", "back": "done", "try": "refused"}
    found.hands["reset"] = lambda desk: desk.act("local_reset")
    return found


def seen(which: str, there: Practised, **arguments: str) -> ProtectionSeen:
    """Play it."""
    found, begun = play(protection(there.unit.sheet, {"which": which, "test": "N 1", **arguments}), there)
    assert isinstance(found, ProtectionSeen)
    assert begun.commands == ()
    return found


def bleed(share: float | bool) -> Callable[[SiteDesk], None]:  # noqa: FBT001  # as the act takes it
    """A hand at BV-1."""
    return lambda desk: desk.act("bleed", share, which="BV-1")


def in_turn(*acts: Callable[[], object]) -> Callable[[SiteDesk], None]:
    """A hand that does several things."""

    def hand(_desk: SiteDesk) -> None:
        for act in acts:
            act()

    return hand


def low_fluid() -> Practised:
    """The float lifted, OPEN sent and stopped, let go."""
    there = people()
    there.hands |= {
        "cause it": lambda desk: desk.act("lift_float", True),
        "try": lambda _desk: there.order("open"),
        "back": in_turn(lambda: there.order("stop"), lambda: there.desk.act("lift_float", False)),
    }
    return there


def test_low_fluid_is_seen_tried_read_and_goes_with_its_cause() -> None:
    """The pump stays off although OPEN is sent."""
    found = seen("low_fluid", low_fluid())
    assert found.faults == ()
    assert found.verdict[0] is True
    assert (found.room_text, found.room_time, found.witness) == ("XV-1101 TROUBLE", "14:02:11", "Mara")
    assert found.returned == "went with its cause"
    (row,) = found.proved().points
    assert row.forced.startswith("low fluid: Lift the float")
    assert row.their_time == "14:02:11"


def test_an_open_that_is_kept_for_later_is_found() -> None:
    """Without the STOP the pump starts when the float is let go."""
    there = low_fluid()
    there.hands["back"] = lambda desk: desk.act("lift_float", False)
    found = seen("low_fluid", there)
    assert "pump or valve went on by itself once its cause was away" in found.faults


def test_not_in_automatic_refuses_the_control_room() -> None:
    """With a reason."""
    there = people()
    there.hands |= {
        "cause it": lambda desk: desk.act("selector", "LOCAL"),
        "try": lambda _desk: there.order("open"),
        "back": lambda desk: desk.act("selector", "REMOTE"),
    }
    found = seen("not_automatic", there)
    assert found.verdict[0] is True, found.verdict
    assert any("selector in LOCAL" in note for note in there.notes)


def test_what_does_not_act_fails_and_is_no_blank() -> None:
    """Somebody says that nothing comes."""
    there = people()
    there.said["cause it"] = "nothing"
    found = seen("supply", there)
    assert found.verdict == (False, "it did not act")
    assert found.cause


def test_what_cannot_be_caused_came_to_nothing() -> None:
    """With the reason."""
    there = people()
    there.said["cause it"] = "cannot, no bench supply"
    found = seen("supply", there)
    assert found.verdict == (None, "cannot, no bench supply")


def test_an_alarm_that_is_on_already_proves_nothing() -> None:
    """The float is lifted before."""
    there = low_fluid()
    there.desk.act("lift_float", True)
    there.unit.advance(1.0)
    assert seen("low_fluid", there).verdict[0] is None


@pytest.mark.parametrize(
    ("said", "fault"),
    [
        ("we see nothing", "did not see it"),
        ("XV-1101 TROUBLE, soon", "gave no time"),
        ("XV-1101 TROUBLE, 14:10:00", "was it this event"),
    ],
)
def test_a_control_room_that_saw_nothing_or_another_event_fails_it(said: str, fault: str) -> None:
    """Who saw what, and both times."""
    there = low_fluid()
    there.said["room"] = said
    found = seen("low_fluid", there, utc_at_0="2026-11-26T14:00:00+00:00", offset_s="0")
    assert any(fault in words for words in found.faults)


def test_an_alarm_that_came_while_nothing_was_read_may_be_in_their_log_before() -> None:
    """The lead was off for a minute: the bit came at some moment of it, and so did their time."""
    there = low_fluid()

    def lifted_unseen(desk: SiteDesk) -> None:
        desk.act("lift_float", True)
        there.said["room"] = f"XV-1101 TROUBLE, 14:00:{round(there.unit.now_s) + 1:02d}"
        there.unit.advance(30.0)

    there.hands["cause it"] = lifted_unseen
    found = seen("low_fluid", there, utc_at_0="2026-11-26T14:00:00+00:00", offset_s="0")
    assert found.late_s == pytest.approx(-29.0, abs=1.0)
    assert found.faults == ()


def timed(there: Practised, which: str) -> ProtectionSeen:
    """One with a time."""
    return seen(which, there)


def test_the_run_limit_of_180_s_is_found_at_180_s() -> None:
    """From motor on to the alarm, with the samples' uncertainty; the pump stays off and it needs the reset."""
    there = people(run_180_s_six_starts_in_15_min(), End.OPEN)
    there.hands |= {
        "cause it": bleed(0.06),
        "watching": 150.0,
        "back": in_turn(
            lambda: bleed(False)(there.desk), lambda: there.order("close"), lambda: there.unit.advance(30.0)
        ),
    }
    found = timed(there, "run_limit")
    figure = protection_figures(found, there.unit.sheet)[0]
    assert figure.name == TIME
    assert abs(figure.unrounded - 180.0) <= 2 * float(figure.expanded_uncertainty) + 0.1
    assert str(protection_limits(there.unit.sheet, "run_limit")) == "176.4 to 183.6"
    assert found.faults == ()
    assert found.returned == "went after the reset"
    judged = CATALOGUE[TEST_TIMED].judge((figure,), there.unit.sheet, {"which": "run_limit"})
    assert judged is not None
    assert judged.decision.verdict == "pass"


def starts(there: Practised, share: float = 0.02) -> ProtectionSeen:
    """A bleed just cracked, until the next start is refused."""
    there.hands |= {
        "cause it": bleed(share),
        "back": in_turn(
            lambda: bleed(False)(there.desk), lambda: there.order("stop", "open"), lambda: there.unit.advance(30.0)
        ),
    }
    return timed(there, "starts")


def test_six_starts_in_15_minutes_and_the_seventh_is_refused() -> None:
    """Which start it is, is written down: six allowed, the seventh refused."""
    there = people(run_180_s_six_starts_in_15_min(), End.OPEN)
    found = starts(there)
    figure = protection_figures(found, there.unit.sheet)[0]
    assert (figure.name, figure.value) == (RESTARTS, "6")
    assert "6 starts in" in figure.note
    assert "6 in 900 s" in figure.note
    assert found.faults == ()
    judged = CATALOGUE[TEST_TIMED].judge((figure,), there.unit.sheet, {"which": "starts"})
    assert judged is not None
    assert judged.decision.verdict == "pass"


def test_a_unit_that_allows_another_number_than_its_sheet_fails() -> None:
    """Four, where six are written."""
    there = people(run_180_s_six_starts_in_15_min(), End.OPEN)
    there.unit.change_setting("starts_allowed", 4)
    found = starts(there)
    figure = protection_figures(found, there.unit.sheet)[0]
    judged = CATALOGUE[TEST_TIMED].judge((figure,), there.unit.sheet, {"which": "starts"})
    assert judged is not None
    assert judged.decision.verdict == "fail"


def test_starts_that_the_window_has_let_go_are_not_counted_by_the_unit() -> None:
    """A rolling window of 15 minutes: at a start every three minutes five are in it, and none is refused."""
    there = people(run_180_s_six_starts_in_15_min(), End.OPEN)
    there.desk.act("bleed", 0.0009, which="BV-1")
    there.unit.advance(1200.0)
    assert "alarm_starts" not in there.unit.truth().alarms


def test_an_opening_that_cannot_arrive_ends_at_its_time_out() -> None:
    """175 s in this sheet."""
    there = people(run_180_s_six_starts_in_15_min())

    def led_away(desk: SiteDesk) -> None:
        desk.act("bleed", True, which="BV-1")
        there.order("open")

    there.hands |= {"cause it": led_away, "watching": 150.0, "back": bleed(False)}
    found = timed(there, "travel_open")
    figure = protection_figures(found, there.unit.sheet)[0]
    assert abs(figure.unrounded - 175.0) <= 0.5
    assert found.faults == ()


def test_lost_contact_is_timed_by_the_control_rooms_log() -> None:
    """10 s by the sheet; their log shows whole seconds, and that is in the uncertainty."""
    there = people()
    there.hands |= {
        "cause it": lambda desk: desk.act("link_cut", True),
        "room": 10.0,
        "back": lambda desk: desk.act("link_cut", False),
    }
    begun_s = there.unit.now_s
    there.said["room"] = f"XV-1101 TROUBLE, 14:00:{round(begun_s + 1.2 + 10):02d}"
    found = seen("contact_lost", there, utc_at_0="2026-11-26T14:00:00+00:00", offset_s="0")
    figure = protection_figures(found, SHEET)[0]
    assert abs(figure.unrounded - 10.0) <= 1.0
    assert 1.0 < float(figure.expanded_uncertainty) < 1.6
    assert found.returned == "nothing was kept for later"
    assert found.faults == ()


def test_an_unknown_one_is_refused_and_so_is_a_unit_without_its_bit() -> None:
    """With what is known, and with the point."""
    with pytest.raises(ValueError, match="low_fluid"):
        next(protection(SHEET, {"which": "meteorite"}))
    with pytest.raises(ValueError, match="which is one of"):
        next(protection(SHEET, {}))
