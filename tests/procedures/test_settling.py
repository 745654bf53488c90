"""Settled: still for two seconds, motor stopped, nothing compared across a silence."""

from collections.abc import Iterable

import pytest

from commission.procedures.requests import Watch
from commission.procedures.settling import Settling
from commission.sample import Silence
from commission.sheet.decode import Reading, Readings


def _shown(settling: Settling, values: Iterable[float], *, motor: float = 0.0, from_s: float = 0.0) -> None:
    """Show one travel every tenth of a second."""
    for number, value in enumerate(values):
        at_ns = round((from_s + number * 0.1) * 1e9)
        watching = settling.watch()
        assert next(watching) == Watch()
        shown = {"travel": Reading(value, at_ns, 0), "motor_running": Reading(motor, at_ns, 0)}
        with pytest.raises(StopIteration):
            watching.send(Readings(number + 1, at_ns, shown))
        assert settling.last_ns == at_ns


def test_two_seconds_within_the_band_are_settled() -> None:
    """Not before, and not outside."""
    settling = Settling({"travel": 0.003})
    states = []
    for values, from_s in (([0.25] * 10, 0.0), ([0.25, 0.2520] * 10, 1.0), ([0.27] * 2, 3.0)):
        _shown(settling, values, from_s=from_s)
        states.append(settling.settled)
    assert states == [False, True, False]
    assert settling.mean("travel") is not None
    assert settling.value("travel") == 0.27


def test_a_running_motor_is_not_settled() -> None:
    """The valve may be about to move."""
    settling = Settling({"travel": 0.003})
    _shown(settling, [0.25] * 30, motor=1.0)
    assert settling.bit("motor_running")
    assert not settling.settled


def test_a_silence_begins_anew() -> None:
    """What was before it says nothing about after it."""
    settling = Settling({"travel": 0.003})
    _shown(settling, [0.25] * 30)
    watching = settling.watch()
    next(watching)
    with pytest.raises(StopIteration):
        watching.send(Silence(31, 0, 4_000_000_000, "no answer"))
    assert settling.latest is None
    assert not settling.settled
    assert settling.mean("travel") is None
    assert settling.value("travel") is None
    assert not settling.bit("motor_running")


def test_what_is_not_read_does_not_count() -> None:
    """A unit without the register settles by what it has."""
    settling = Settling({"travel": 0.003, "feedback_current": 5e-5})
    _shown(settling, [0.25] * 30)
    assert settling.settled


def test_waiting_ends_when_settled_or_too_late() -> None:
    """Within so many seconds, or not."""
    settling = Settling({"travel": 0.003})
    waiting = settling.settle(1.0)
    next(waiting)
    outcome = None
    for number in range(1, 40):
        at_ns = number * 100_000_000
        try:
            waiting.send(Readings(number, at_ns, {"travel": Reading(number / 10, at_ns, 0)}))
        except StopIteration as done:
            outcome = done.value
            break
    assert outcome is False
