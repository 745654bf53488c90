"""Tests of the register of a job: people, instruments, permits, clocks, confirmations, signatures, reports."""

from commission.job import bodies
from commission.job.register import Register, fold_register
from tests.energy.way import OLLIE, TESS
from tests.job.told import seen


def folded(*happened: bodies.Body) -> Register:
    """The register after these events."""
    register = Register()
    for n, body in enumerate(happened, start=1):
        register = fold_register(register, seen(body, n))
    return register


def permit(number: str) -> bodies.PermitRecorded:
    """A paper permit."""
    return bodies.PermitRecorded(number=number, until_utc="2026-05-12T16:00:00+00:00", gas_test="0 % LEL", tester=OLLIE)


def test_people_and_instruments_are_found_by_name_and_number() -> None:
    """A later entry of the same name corrects the earlier; the record keeps both."""
    register = folded(
        bodies.PersonAdded(name=TESS, role="technician"),
        bodies.PersonAdded(name=OLLIE, role="operator"),
        bodies.PersonAdded(name=TESS, role="commissioning technician"),
        bodies.InstrumentAdded(
            id="M-03", what="clamp", certificate="C", due="2027-03-01", range="24 mA", uncertainty="x"
        ),
    )
    assert register.people[TESS].role == "commissioning technician"
    assert list(register.people) == [TESS, OLLIE]
    assert register.instruments["M-03"].what == "clamp"


def test_the_permit_in_force_is_the_latest() -> None:
    """Earlier permits stay listed."""
    assert Register().permit is None
    register = folded(permit("QR-PTW-0417"), permit("QR-PTW-0418"))
    assert register.permit == permit("QR-PTW-0418")
    assert len(register.permits) == 2


def test_clocks_confirmations_looks_signatures_and_reports_are_lists() -> None:
    """Each entry is kept with its time, and with who gave it where it is somebody's word."""
    clock = bodies.ClockCompared(when="start", offset_s=7.0, against="event log")
    confirmed = bodies.MovementConfirmed(test="t", count=4, tag_characters="01", said_go="Mara Mockford")
    look = bodies.StemLookedAt(direction="closed", start_mark="open", end_mark="closed")
    signed = bodies.Signed(role="technician", statement="as left", how="typed name")
    report = bodies.ReportMade(name="a.pdf", digest="ab", interim=True)
    short = bodies.WaitShortened(step="E4", seconds=300.0)
    register = folded(clock, confirmed, look, signed, report, short)
    assert (register.clocks[0].compared, register.clocks[0].at_utc) == (clock, seen(clock, 1).event.at_utc)
    assert (register.confirmed[0].confirmed, register.confirmed[0].by) == (confirmed, TESS)
    assert (register.signatures[0].signed, register.signatures[0].by) == (signed, TESS)
    assert (register.stem_looks, register.reports, register.shortened) == ((look,), (report,), (short,))


def test_other_events_leave_the_register_alone() -> None:
    """The fold gives the very same register back."""
    register = folded(permit("QR-PTW-0417"))
    assert fold_register(register, seen(bodies.StepBegun(step="B1"))) is register
