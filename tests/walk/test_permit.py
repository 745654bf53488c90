"""The paper permit and its minutes."""

from datetime import timedelta

from commission.job.bodies import PermitRecorded
from commission.walk import permit
from tests.walk.visits import Visit


def _with_permit(minutes: float) -> Visit:
    visit = Visit()
    until = visit.now + timedelta(minutes=minutes)
    visit.record(
        PermitRecorded(
            number="QR-PTW-0417", until_utc=until.isoformat(), gas_test="0 % LEL 07:30", tester="O. Sampleton"
        )
    )
    return visit


def test_no_permit_is_said() -> None:
    """None is not zero minutes."""
    visit = Visit()
    assert permit.minutes_left(visit.job, visit.now) is None
    assert "No permit" in str(permit.refusal(visit.job, visit.now))


def test_minutes_are_rounded_down() -> None:
    """A minute that is not whole is not promised."""
    visit = _with_permit(30.9)
    assert permit.minutes_left(visit.job, visit.now) == 30


def test_a_permit_that_has_ended_is_named() -> None:
    """The refusal says which and what to do."""
    visit = _with_permit(10)
    visit.wait(11)
    refused = permit.refusal(visit.job, visit.now)
    assert refused is not None
    assert "QR-PTW-0417 has ended" in refused.reason
    assert "extended" in refused.instead


def test_the_latest_permit_counts() -> None:
    """An extension is recorded as another permit."""
    visit = _with_permit(10)
    later = visit.now + timedelta(hours=5)
    visit.record(PermitRecorded(number="QR-PTW-0417/1", until_utc=later.isoformat(), gas_test="0", tester="O. S."))
    visit.wait(20)
    assert permit.refusal(visit.job, visit.now) is None
