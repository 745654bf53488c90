"""What the supervisor is told and tells."""

import msgspec
import pytest

from commission.supervise.order import Aborted, Ended, MotionOrder, MotionRefused, MotionView, StopRequested
from commission.supervise.safe_end import SafeEndReport, SafeEndSeen


def test_order_names_who_said_go() -> None:
    """Without a name there is no order; as-found is said only where it is meant."""
    order = MotionOrder(run="r1", step="K1", procedure="full_stroke", arguments={}, by="T. Placeholder")
    assert not order.as_found
    with pytest.raises(TypeError):
        MotionOrder(run="r1", step="K1", procedure="full_stroke", arguments={})  # type: ignore[call-arg]  # the point


def test_end_and_view_are_values() -> None:
    """A face may keep them: nothing changes them afterwards."""
    ended: Ended[None] = Ended("stopped", "stop key", SafeEndReport(SafeEndSeen.CONFIRMED, "seen at rest"), None)
    view = MotionView("K1 closed 1", "K1", 0)
    for value in (ended, view):
        with pytest.raises(AttributeError):
            setattr(value, value.__struct_fields__[0], "else")
    assert msgspec.structs.replace(view, command="sent").command == "sent"
    assert view.command == ""


def test_ways_out_of_the_loop_are_told_apart() -> None:
    """A refusal (nothing was sent) is never taken for a stop or an abort (something may have been)."""
    assert not issubclass(MotionRefused, StopRequested | Aborted)
    assert not issubclass(StopRequested, Aborted)
