"""The vocabulary between a procedure and its supervisor."""

import msgspec
import pytest

from commission.procedures.requests import Ask, Begin, Command, Dwell, SafeEnd, Sent, Tripped, Watch
from commission.sample import Outcome


def test_requests_are_values() -> None:
    """Two requests that say the same are equal, so a playbook can state one."""
    assert Command("command_open") == Command("command_open", 1)
    assert Command("command_open") != Command("command_close")
    assert Watch() == Watch()
    assert Watch(Ask("meter", "Meter?")) != Watch()


def test_requests_cannot_be_changed() -> None:
    """A request that is on its way stays what it is."""
    with pytest.raises(AttributeError):
        Dwell(1.0).seconds = 2.0  # type: ignore[misc]  # what is being proved


@pytest.mark.parametrize("end", list(SafeEnd))
def test_r10_safe_end_is_one_of_three(end: SafeEnd) -> None:
    """A safe end is return, stop or send nothing."""
    begun = Begin("K1 open 1", (), end, None, {}, (), 10.0)
    assert begun.safe_end in ("return", "stop", "send nothing")


def test_r12_an_answer_says_nothing_of_motion() -> None:
    """What comes back for a write is answered, refused or unanswered; none of them says moved."""
    assert {outcome.value for outcome in Outcome} == {"answered", "refused", "unanswered"}
    sent = Sent("command_open", 1, 5, 1, Outcome.ANSWERED)
    assert msgspec.json.decode(msgspec.json.encode(sent), type=Sent) == sent


def test_a_guard_trips_without_taking_over_unless_said() -> None:
    """Only some trips mean that the valve is somebody else's."""
    assert Tripped("pressure").taken_over is False
