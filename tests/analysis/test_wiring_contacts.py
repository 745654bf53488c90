"""What came of one contact, from the bits before and after."""

import msgspec
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.wiring import Finding
from commission.analysis.wiring_contacts import Operated, judge, not_operated, operations
from commission.content import checklists_folder
from commission.sheet import ROLES, RoleKind, load_sheet
from tests.supervise.rig import demo_sheet

SHEET = demo_sheet()
BITS = {point.role: False for point in SHEET.points if ROLES[point.role].kind is RoleKind.BIT}
REST = {**BITS, "remote": True, "automatic": True, "alarm_relay": True, "esd_healthy": True, "closed_limit": True}
FLOAT = next(operation for operation in operations(SHEET) if operation.id == "low_fluid there")
LIFTED = {"low_fluid": True, "alarm_fluid": True, "alarm_relay": False}


def operated(**after: bool) -> Operated:
    """The float lifted, and what the bits read then."""
    return Operated(before=REST, after={**REST, **after}, changes={}, window_s=2.5)


def test_the_right_bit_with_its_companions_is_right() -> None:
    """The alarm and its relay follow by the unit's own logic: no shared common."""
    point = judge(SHEET, FLOAT, operated(**LIFTED))
    assert (point.finding, point.seen) == (
        Finding.RIGHT,
        "fluid low, low fluid alarm active, alarm relay alarm",
    )


def test_an_alarm_that_was_active_before_need_not_change() -> None:
    """It is its state that is expected, not a change."""
    before = {**REST, "alarm_fluid": True, "alarm_relay": False}
    seen = msgspec.structs.replace(operated(**LIFTED), before=before)
    assert judge(SHEET, FLOAT, seen).finding is Finding.RIGHT


def test_nameless_addresses_beside_the_point_ask_how_the_list_counts() -> None:
    """Off by one: what changes lies next to where the sheet looks."""
    seen = msgspec.structs.replace(operated(), unnamed=("discrete 8",))
    point = judge(SHEET, FLOAT, seen)
    assert point.finding is Finding.WRONG_POINT
    assert "discrete 8, which the sheet does not name, did: does the unit's list count" in point.words
    together = msgspec.structs.replace(operated(**LIFTED), unnamed=("discrete 8",))
    assert judge(SHEET, FLOAT, together).finding is Finding.TOGETHER


def test_several_others_are_no_single_wrong_point() -> None:
    """Crossed cores and a common at once."""
    point = judge(SHEET, FLOAT, operated(esd_healthy=False, open_limit=True))
    assert point.finding is Finding.WRONG_POINT
    assert "crossed cores and a shared common" in point.words
    assert not point.correction


def test_a_packed_bit_is_corrected_with_its_table_and_bit() -> None:
    """What the sheet has as a discrete input is a bit of a register at the unit."""
    point = judge(SHEET, FLOAT, operated(alarm_supply=True))
    assert point.correction == (
        "low_fluid: address = 26 (the sheet says 5)",
        'low_fluid: table = "input" (the sheet says discrete)',
        "low_fluid: bit = 8 (the sheet says None)",
    )


def test_a_contact_that_chatters_by_itself_is_neither_proof_nor_blame() -> None:
    """It is named at its own turn, and no other contact's finding."""
    resting = frozenset({"closed_limit"})
    seen = msgspec.structs.replace(operated(**LIFTED, closed_limit=False), resting=resting)
    assert judge(SHEET, FLOAT, seen).finding is Finding.RIGHT


@given(
    st.dictionaries(st.sampled_from(sorted(BITS)), st.booleans()),
    st.dictionaries(st.sampled_from(sorted(BITS)), st.integers(0, 9)),
)
def test_right_means_that_the_bit_changed_to_what_it_should_and_no_stranger_did(
    after: dict[str, bool], changes: dict[str, int]
) -> None:
    """Whatever was seen."""
    seen = Operated(before=REST, after={**REST, **after}, changes=changes, window_s=2.5)
    point = judge(SHEET, FLOAT, seen)
    assert point.words or point.finding is Finding.RIGHT
    if point.finding is Finding.RIGHT:
        changed = {name for name, value in seen.after.items() if value is not REST[name]}
        assert seen.after["low_fluid"] is True
        assert changed <= {"low_fluid", *FLOAT.follows}
        assert changes.get("low_fluid", 0) <= 1


def test_every_bit_is_operated_or_named_with_where_it_is_proved() -> None:
    """None is forgotten."""
    done = frozenset(operation.role for operation in operations(SHEET))
    left = not_operated(SHEET, done)
    assert len(left) + len(done) == len(BITS)
    assert "high pressure trip: by its own cause (O3)" in left


def test_a_unit_that_charges_by_itself_may_call_for_its_pump() -> None:
    """Double-acting, its oil at zero in control: the contactor and its alarm come and go, whoever works a contact."""
    charging = load_sheet(checklists_folder() / "units" / "fcv-2204.toml")[0]
    assert all({"motor_running", "alarm_run_time"} <= one.may_follow for one in operations(charging))
    assert not any("motor_running" in one.may_follow for one in operations(SHEET))
