"""Tests of the one slot that holds leave to write (safety rule R9)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.leave import Leave, LeaveSlot

UNTIL_NS = 60_000_000_000
LEAVE = Leave(
    test="K1 close run 2",
    values={"command_close": (1,), "command_open": (1,), "set_point": (2500, 5000)},
    until_ns=UNTIL_NS,
    generation=7,
    by="Tess Placeholder",
    returns=("command_open",),
)


def granted(leave: Leave = LEAVE) -> LeaveSlot:
    """A slot with leave in force."""
    slot = LeaveSlot()
    slot.grant(leave)
    return slot


def test_an_empty_slot_refuses_everything_and_says_why() -> None:
    """Before any leave nothing may be written."""
    slot = LeaveSlot()
    assert slot.current is None
    assert slot.refusal("command_close", 1, 0, 7) == slot.why_empty == "no test has been given leave"


def test_leave_covers_its_points_and_values() -> None:
    """The point, the value, the time and the generation all agree: written."""
    slot = granted()
    assert slot.current is LEAVE
    assert slot.refusal("command_close", 1, UNTIL_NS, 7) is None
    assert slot.refusal("set_point", 5000, 0, 7) is None


@pytest.mark.parametrize(
    ("role", "value", "now_ns", "generation", "words"),
    [
        ("command_stop", 1, 0, 7, "does not cover writing 1 to command_stop"),
        ("command_close", 0, 0, 7, "does not cover writing 0 to command_close"),
        ("set_point", 10000, 0, 7, "does not cover writing 10000 to set_point"),
        ("command_close", 1, UNTIL_NS + 1, 7, "has run out"),
        ("command_close", 1, 0, 8, "the energy state has changed"),
        ("command_close", 1, 0, 6, "the energy state has changed"),
    ],
    ids=["point", "value", "set point", "too late", "newer generation", "older generation"],
)
def test_what_leave_does_not_cover_is_refused_by_name(
    role: str, value: int, now_ns: int, generation: int, words: str
) -> None:
    """Each refusal names the test and what is not covered."""
    refusal = granted().refusal(role, value, now_ns, generation)
    assert refusal is not None
    assert words in refusal
    assert "K1 close run 2" in refusal


def test_return_stays_allowed_after_the_time() -> None:
    """Safety rule R9: return is allowed until its test has ended, whatever the clock says; nothing else is."""
    slot = granted()
    late_ns = UNTIL_NS * 1000
    assert slot.refusal("command_open", 1, late_ns, 7) is None
    assert slot.refusal("set_point", 2500, late_ns, 7) is not None


def test_return_ends_with_a_change_of_energy() -> None:
    """A stale generation refuses the return too."""
    assert granted().refusal("command_open", 1, 0, 8) is not None


def test_one_motion_at_a_time() -> None:
    """A second test gets no leave while the first holds it, and the first keeps its own."""
    slot = granted()
    with pytest.raises(RuntimeError, match="K1 close run 2 still holds leave"):
        slot.grant(Leave("L1", {}, 1, 7, "Tess Placeholder"))
    assert slot.current is LEAVE


def test_withdrawn_leave_is_gone_with_its_reason() -> None:
    """After withdrawal all is refused with the reason; withdrawing again is harmless and keeps the slot free."""
    slot = granted()
    assert slot.withdraw("ESD seen") is LEAVE
    assert slot.withdraw("contact lost") is None
    assert slot.refusal("command_open", 1, 0, 7) == "contact lost"
    slot.grant(LEAVE)
    assert slot.refusal("command_close", 1, 0, 7) is None


@given(
    st.sampled_from([*LEAVE.values, "command_stop", "command_reset", ""]),
    st.integers(min_value=-1, max_value=70000),
    st.integers(min_value=0, max_value=4 * UNTIL_NS),
    st.integers(min_value=5, max_value=9),
)
def test_nothing_is_allowed_that_leave_does_not_name(role: str, value: int, now_ns: int, generation: int) -> None:
    """Whatever is asked, an allowed write has the generation, the value, and the time or the right to return."""
    if granted().refusal(role, value, now_ns, generation) is None:
        assert generation == LEAVE.generation
        assert value in LEAVE.values[role]
        assert now_ns <= UNTIL_NS or role in LEAVE.returns
