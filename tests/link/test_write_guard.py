"""Which write may go, as a table: class, state, leave, proof (safety rules R8 and R9)."""

import pytest

from commission.leave import Leave, LeaveSlot
from commission.link.faults import WriteRefused
from commission.link.write_guard import EnergyView, WriteGuard
from tests.link.lines import demo_sheet

SHEET = demo_sheet()
NOW_NS = 1_000
STATES = ("locked", "pumping", "control", "live", "in operation", "unknown")
LEAVE = Leave(
    "K1 close run 1", {"command_close": (1, 0), "command_open": (1,)}, 2_000, 7, "T. Placeholder", ("command_open",)
)
PROVED = frozenset({"command_close", "command_open"})


def _guard(leave: Leave | None = None, unit_id: int = 11) -> WriteGuard:
    slot = LeaveSlot()
    if leave is not None:
        slot.grant(leave)
    return WriteGuard(SHEET, slot, unit_id)


@pytest.mark.parametrize("state", STATES)
def test_r08_stop_goes_in_any_state_unarmed_and_again(state: str) -> None:
    """A point that only removes motion is written in every state, without leave or proof, as often as wanted."""
    guard = _guard()
    for _ in range(3):
        assert guard.refusal("command_stop", 1, EnergyView(state, 0), NOW_NS) is None


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize(("role", "value"), [("run_limit", 45), ("trip_high", 620), ("command_reset", 1)])
def test_r08_settings_and_resets_in_control_or_live(state: str, role: str, value: int) -> None:
    """Settings and resets need no leave, and go in control and live only."""
    refusal = _guard().refusal(role, value, EnergyView(state, 0), NOW_NS)
    assert (refusal is None) == (state in ("control", "live"))
    assert refusal is None or state in refusal


@pytest.mark.parametrize("at_rest", [False, True])
@pytest.mark.parametrize("proved", [False, True])
@pytest.mark.parametrize("leave", [False, True])
@pytest.mark.parametrize("state", STATES)
def test_r08_motion_needs_live_leave_and_proof(state: str, *, leave: bool, proved: bool, at_rest: bool) -> None:
    """Motion goes live with leave and proof, or as a pulse in control with leave at rest; in nothing else."""
    view = EnergyView(state, 7, PROVED if proved else frozenset(), at_rest)
    refusal = _guard(LEAVE if leave else None).refusal("command_close", 1, view, NOW_NS)
    allowed = leave and ((state == "live" and proved) or (state == "control" and at_rest))
    assert (refusal is None) == allowed, refusal


@pytest.mark.parametrize(
    ("role", "value", "generation", "now_ns", "words"),
    [
        ("command_close", 1, 8, NOW_NS, "energy state has changed"),
        ("command_close", 1, 7, 2_001, "has run out"),
        ("command_partial_stroke", 1, 7, NOW_NS, "has not been proved"),
        ("command_open", 0, 7, NOW_NS, "does not cover writing 0"),
        ("command_close", 2, 7, NOW_NS, "takes 1 (or 0 to release it), not 2"),
        ("travel", 1, 7, NOW_NS, "names no point to write for 'travel'"),
        ("set_point", 1, 7, NOW_NS, "names no point to write"),
        ("run_limit", 70_000, 7, NOW_NS, "does not fit"),
    ],
)
def test_r09_whatever_is_not_shown_to_be_allowed_is_refused(
    role: str, value: int, generation: int, now_ns: int, words: str
) -> None:
    """Each refusal says what is missing."""
    with pytest.raises(WriteRefused) as refused:
        _guard(LEAVE).admit(role, value, EnergyView("live", generation, PROVED), now_ns)
    assert words in str(refused.value)


def test_r09_return_stays_allowed_after_the_leave_has_run_out() -> None:
    """The way back outlives the clock of its leave, until the test has ended."""
    view = EnergyView("live", 7, PROVED)
    assert _guard(LEAVE).refusal("command_open", 1, view, 10**12) is None
    assert _guard(None).refusal("command_open", 1, view, 10**12) is not None


def test_r08_unit_nought_is_never_written() -> None:
    """Not even a stop goes to every unit at once."""
    assert "every unit on the line" in (_guard(unit_id=0).refusal("command_stop", 1, EnergyView("live", 0), 0) or "")
