"""What somebody who practises can do at the unit: in plain words, every act of it, and what is seen afterwards."""

from typing import Any

import pytest

from commission.content import checklists_folder
from commission.face.at_unit import LOOKS, WAIT_ACT, Act, Doing, places, seen, with_amount
from commission.practice.acts import ACTS
from commission.practice.site import SiteDesk
from commission.practice.unit import PracticeUnit
from commission.sheet import load_sheet
from tests.supervise.rig import demo_sheet

SHEET = demo_sheet()


@pytest.fixture
def desk() -> SiteDesk:
    """The people beside a unit that stands still."""
    return SiteDesk(PracticeUnit(SHEET))


def looked(desk: SiteDesk) -> dict[str, Any]:
    """Everything that is looked at."""
    return {name: desk.read(name) for name in LOOKS}


def doings(desk: SiteDesk) -> list[Doing]:
    """Everything that can be done now."""
    return [doing for place in places(SHEET, looked(desk)) for doing in place.doings]


def do(desk: SiteDesk, words: str) -> None:
    """Do the one thing whose words begin so."""
    (doing,) = [doing for doing in doings(desk) if doing.words.startswith(words)]
    desk.act(doing.act.act, doing.act.value, which=doing.act.which)


def seen_words(desk: SiteDesk) -> str:
    """What is seen, as one text."""
    return "\n".join(f"{label}: {words}" for label, words in seen(SHEET, looked(desk)))


def test_every_act_of_the_unit_can_be_done(desk: SiteDesk) -> None:
    """None is left out, and none is offered that the unit does not know; nine at most at one place."""
    desk.act("hand_pump", 10)  # so that the lever can be put back
    assert {doing.act.act for doing in doings(desk)} == set(ACTS) - {"heater_isolator"}, "it has no heater"
    assert all(0 < len(place.doings) <= 9 for place in places(SHEET, looked(desk)))
    assert len(places(SHEET, looked(desk))) <= 9


def test_every_thing_offered_is_taken_as_it_is(desk: SiteDesk) -> None:
    """No act is offered with a value that the unit would refuse for its kind."""
    for doing in doings(desk):
        if not doing.amount and doing.act.act not in (WAIT_ACT, "vent_sensing_line", "other_master_orders"):
            desk.act(doing.act.act, doing.act.value, which=doing.act.which)


def test_another_master_orders_and_sets(desk: SiteDesk) -> None:
    """What a control panel on the same line would do: the valve opens, and a setting is another one."""
    do(desk, "another master orders: open")
    desk.unit.advance(1)
    assert desk.unit.motor_powered
    (sets,) = [doing for doing in doings(desk) if doing.words.startswith("another master sets")]
    act = with_amount(sets, "900")
    desk.act(act.act, act.value, which=act.which)
    assert desk.unit.settings.value("run_limit") == 900


def test_heater_has_its_isolator_where_there_is_one() -> None:
    """A unit with a heater has one source more to lock."""
    sheet, _ = load_sheet(checklists_folder() / "units" / "bdv-3307.toml")
    desk = SiteDesk(PracticeUnit(sheet))
    (isolators, *_) = places(sheet, looked(desk))
    (heater,) = [doing for doing in isolators.doings if doing.act.act == "heater_isolator"]
    assert heater.words.startswith("switch OFF and lock, heater")


def test_a_thing_done_is_offered_the_other_way_and_seen(desk: SiteDesk) -> None:
    """Locks, bleeds, selector, ESD button, dump: what stands otherwise than in service is named."""
    assert "nothing: everything stands as in service" in seen_words(desk)
    for words in (
        "switch OFF and lock, motor", "open bleed BV-1", "selector to LOCAL", "press the ESD button",
        "screw the dump shut",
    ):  # fmt: skip
        do(desk, words)
    assert "IS-1101M locked; BV-1 open; dump screwed shut; ESD button in" in seen_words(desk)
    assert "selector LOCAL" in seen_words(desk)
    for words in (
        "take the lock off, switch ON, motor", "shut bleed BV-1", "selector to REMOTE", "turn the ESD button out",
        "take the screw cap off",
    ):  # fmt: skip
        do(desk, words)
    assert "nothing: everything stands as in service" in seen_words(desk)


def test_a_dark_panel_is_seen_dark(desk: SiteDesk) -> None:
    """Without its supply nothing is lit."""
    do(desk, "switch OFF and lock, control")
    assert "dark, no power" in seen_words(desk)


def test_an_amount_is_typed_as_people_write_it() -> None:
    """Comma or point, on and off; what is neither says what was expected."""
    doing = Doing("pump", Act(act="hand_pump"), "bar on the gauge")
    assert with_amount(doing, "12,5").value == 12.5
    assert with_amount(doing, "100").value == 100
    assert with_amount(doing, "on").value is True
    with pytest.raises(ValueError, match="bar on the gauge"):
        with_amount(doing, "much")
