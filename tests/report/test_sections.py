"""Tests of commission.report.sections."""

import pytest

from commission.job import bodies
from commission.report import sections
from tests.report.jobs import OLLIE, PIET, TESS, Visit, eventful_visit, good_visit


def test_people_are_listed_with_what_they_signed() -> None:
    """Each signs what they saw; who did not sign is said."""
    rows = {row[0]: row for row in sections.people(good_visit().job).rows}
    assert "“accepted into service” as operator" in rows[OLLIE][3]
    assert rows[PIET][3] == "not signed"


def test_a_signer_who_is_not_listed_is_still_shown() -> None:
    """A signature without a person added is not lost."""
    visit = Visit().add(bodies.Signed(role="witness", statement="saw it", how="typed"), by="Ines Fictor")
    assert sections.people(visit.job).rows[0][:2] == ("Ines Fictor", "not listed")


def test_every_crossing_of_the_energy_state_is_logged() -> None:
    """Time, from and to, whose word, people counted, locks on, evidence."""
    table = sections.energy(good_visit().job)
    ways = [row[1] for row in table.rows]
    assert ways == [
        "new job: unknown",
        "unknown → in operation",
        "in operation → locked",
        "locked → control",
        "control → live",
        "live → in operation",
    ]
    locked = table.rows[2]
    assert (locked[2], locked[3], locked[4]) == (TESS, "4", "7")
    assert "locks motor L-07" in locked[5]
    assert "zero: PG-1 0.0 bar" in locked[5]
    assert "meter 24.1 / 0.0 / 24.1 V" in locked[5]
    assert "try-start failed" in locked[5]


def test_a_crossing_without_locks_or_zeros_shows_who_said_what() -> None:
    """The dump's block and the hand on the pump are what pumping rests on; a count of facts tells nobody anything."""
    visit = Visit().people().connect().cross("in operation", "locked", "pumping")
    opened, looked, _, pumping = sections.energy(visit.job).rows
    assert opened[5] == "not known before somebody has said it"
    assert "as operations left it" in looked[5]
    assert "dump held" in pumping[5]
    assert "pump hand named" in pumping[5]


def test_a_restart_while_nothing_is_known_is_no_new_job() -> None:
    """The program was started twice before anybody said how the unit stands."""
    visit = Visit().add(bodies.SessionStarted(program_version="0.1.0", resumed=True), by="program")
    assert [row[1] for row in sections.energy(visit.job).rows] == ["new job: unknown", "still: unknown"]


def test_losing_the_state_says_why() -> None:
    """A restart in mid-visit is an entry by the program."""
    last = sections.energy(eventful_visit().job).rows[-1]
    assert (last[1], last[2], last[5]) == ("live → unknown", "program", "the program was started again")


def test_permit_stands_with_its_gas_test() -> None:
    """Number, end, gas test and who tested."""
    assert sections.permits(good_visit().job).rows == (("QR-PTW-0417", "16:00:00", "0 % LEL", OLLIE),)
    assert sections.permits(Visit().job).empty == "none recorded"


def test_temporary_things_say_on_and_off() -> None:
    """What is still on stands out; what came off names the second person and the proof."""
    visit = eventful_visit()
    assert sections.temporary(visit.job).rows[0][4:] == ("STILL ON", "none")
    visit.add(bodies.TemporaryRemoved(id="T1", second_person=OLLIE, proved_by="read back 75 s"))
    assert sections.temporary(visit.job).rows[0][5] == f"{OLLIE}; read back 75 s"


def test_deviations_carry_class_owner_and_acceptance() -> None:
    """A deviation is never taken off; acceptance is added."""
    visit = eventful_visit()
    row = sections.deviations(visit.job).rows[0]
    assert row[:2] == ("D1", "B")
    assert row[6:] == ("Fable River, 2026-12-15", "not accepted")
    visit.add(bodies.DeviationAccepted(id="D1", reason="plate is right"), by=PIET)
    assert sections.deviations(visit.job).rows[0][7] == f"{PIET}: plate is right"


@pytest.mark.parametrize(
    ("due", "printed"),
    [
        ("2026-11-23", "2026-11-23 OUT OF DATE"),
        ("2026-11-24", "2026-11-24"),
        ("2027-03-01", "2027-03-01"),
        ("spring", "spring"),
    ],
)
def test_an_instrument_past_its_date_on_the_day_is_marked(due: str, printed: str) -> None:
    """Its readings are not lost; they are marked."""
    visit = Visit().add(
        bodies.InstrumentAdded(id="G-11", what="gauge", certificate="C", due=due, range="r", uncertainty="u")
    )
    assert sections.instruments(visit.job).rows[0][5] == printed


def test_adjustments_use_the_words_of_the_checklist() -> None:
    """What was touched stands between as-found and as-left, by whom."""
    assert sections.adjustments(eventful_visit().job).rows[0][1:] == ("limit cam", "cam screw tightened", TESS)


def test_the_clock_is_stated_with_its_drift() -> None:
    """Offset at start and end by voice, ± 1 s each; drift to ± 2 s, the sum of both."""
    start, end, drift = sections.clock_statement(good_visit().job)
    assert start.startswith("Start, ")
    assert "laptop 7 s ahead of control room event log (± 1 s, by voice)" in end
    assert drift == "Drift over the visit +0 s ± 2 s."


def test_a_clock_that_was_compared_once_or_never_says_so() -> None:
    """Nothing is claimed that was not compared."""
    assert "not compared" in sections.clock_statement(Visit().job)[0]
    assert sections.clock_statement(Visit().clock("start", -3.0).job)[-1] == "Compared once only: drift unknown."
    assert "laptop 3 s behind" in sections.clock_statement(Visit().clock("start", -3.0).job)[0]
    assert "laptop equal to" in sections.clock_statement(Visit().clock("start", 0.0).job)[0]
