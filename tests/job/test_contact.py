"""Tests of the line as the job knows it."""

import pytest

from commission.job import bodies
from commission.job.contact import Contact, fold_contact
from tests.job.told import seen

LEAVE = bodies.LeaveGiven(test="K1 close run 1", values={"command_close": (1,)}, until_ns=9)
RESTART = bodies.SessionStarted(program_version="0.1.0", resumed=True)


def connected(speed: float | None = None) -> bodies.Connected:
    """The line is up."""
    return bodies.Connected(
        url="tcp://127.0.0.1:5020?unit=11",
        practice_speed=speed,
        round_trip_p50_s=0.02,
        round_trip_p99_s=0.03,
        make_safe_s=0.05,
        echoes=False,
        identity=1101,
        other_master="none",
        agreed_by="Mara Mockford",
    )


def folded(*happened: bodies.Body) -> Contact:
    """The line after these events."""
    contact = Contact()
    for n, body in enumerate(happened, start=1):
        contact = fold_contact(contact, seen(body, n))
    return contact


def test_the_line_is_down_until_connected_and_says_why() -> None:
    """Up, lost, back, disconnected: each with its reason; losses are counted."""
    assert (Contact().up, Contact().reason) == (False, "not connected yet")
    assert folded(connected()).up
    lost = bodies.ContactLost(reason="no answer for 2 s")
    assert (folded(connected(), lost).up, folded(connected(), lost).reason) == (False, "no answer for 2 s")
    back = folded(connected(), lost, bodies.ContactBack(), lost, bodies.ContactBack())
    assert (back.up, back.reason, back.losses) == (True, "", 2)
    assert folded(connected(), bodies.Disconnected(unit_will="hold")).reason == "disconnected"


@pytest.mark.parametrize("end", [RESTART, bodies.SessionEnded(reason="quit")], ids=["restart", "quit"])
def test_no_session_inherits_a_line_or_leave(end: bodies.Body) -> None:
    """After a restart nothing is connected and nothing may be written, whatever was before (safety rule R10)."""
    contact = folded(connected(), LEAVE, end)
    assert not contact.up
    assert contact.reason
    assert contact.leave is None
    assert contact.connected is not None


@pytest.mark.parametrize(
    "event",
    [
        bodies.EnergyBegun(target="locked"),
        bodies.EnergyProved(fact="locked", subject="motor", details={}),
        bodies.EnergyEntered(state="locked"),
        bodies.EnergyLost(reason="gas alarm"),
        bodies.LeaveWithdrawn(test="K1 close run 1", reason="done"),
    ],
    ids=lambda body: type(body).__name__,
)
def test_r09_leave_ends_with_any_energy_event(event: bodies.Body) -> None:
    """The job does not show leave that the slot no longer holds."""
    assert folded(LEAVE).leave == LEAVE
    assert folded(LEAVE, event).leave is None


def test_r15_practice_is_for_good() -> None:
    """One connection to a practice unit, or one answer from a file, marks the job for ever."""
    assert folded(connected(20.0), connected(None)).practice
    assert folded(connected(1.0)).practice
    from_file = bodies.Answered(step="B1", question="serial", text="x", from_file=True)
    assert folded(from_file, connected()).practice
    assert not folded(connected(), bodies.Answered(step="B1", question="serial", text="x")).practice


def test_adjustments_are_kept_with_who_and_when() -> None:
    """The report prints them between as-found and as-left."""
    (touched,) = folded(bodies.Adjusted(touched="closed-limit", detail="half a turn")).adjustments
    assert (touched.adjusted.detail, touched.at_utc) == ("half a turn", seen(RESTART, 1).event.at_utc)
