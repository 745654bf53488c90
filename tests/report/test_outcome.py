"""Tests of commission.report.outcome."""

import msgspec

from commission.job import bodies
from commission.report.outcome import Outcome, outcome
from tests.report.jobs import OLLIE, PIET, TESS, Visit, eventful_visit, good_visit


def _of(visit: Visit, *, interim: bool = False) -> Outcome:
    return outcome(visit.job, interim=interim)


def _deviation(classed: str, step: str = "N1", **more: str) -> bodies.DeviationRaised:
    return bodies.DeviationRaised(id="D1", step=step, required="6.0", found="5.0", classed=classed, **more)


def test_a_whole_visit_is_accepted() -> None:
    """Everything passed, was handed over and signed, and nothing speaks against it."""
    found = _of(good_visit())
    assert (found.words, found.against) == ("ACCEPTED", ())
    assert found.counts == ("5 pass",)


def test_an_interim_report_is_not_finished() -> None:
    """A draft never says accepted."""
    assert _of(good_visit(), interim=True).words == "NOT FINISHED: interim report"


def test_unsigned_is_not_accepted() -> None:
    """People accept, not the program."""
    visit = Visit().people().cross("in operation")
    for step in ("B4", "H2", "K1-open", "K1-close", "N1"):
        visit.step(step)
    found = _of(visit)
    assert found.words == "NOT ACCEPTED"
    assert found.against == ("nobody has signed",)


def test_a_failure_without_a_deviation_is_not_accepted() -> None:
    """A failed step stands on page one."""
    found = _of(good_visit().step("N1", "fail"))
    assert found.words == "NOT ACCEPTED"
    assert "fail: N1 Prove low fluid" in found.against


def test_a_failure_with_an_accepted_deviation_is_accepted_with_deviations() -> None:
    """The owner's side may accept a failure; it stays in the words."""
    visit = good_visit().step("N1", "fail").add(_deviation("A"))
    assert _of(visit).words == "NOT ACCEPTED"
    visit.add(bodies.DeviationAccepted(id="D1", reason="pump is to be changed in May"), by=PIET)
    assert _of(visit).words == "ACCEPTED WITH DEVIATIONS"


def test_class_b_needs_owner_and_date() -> None:
    """Within a date: without one, or without an owner, it is not settled."""
    assert _of(good_visit().add(_deviation("B"))).words == "NOT ACCEPTED"
    settled = good_visit().add(_deviation("B", owner="Fable River", due="2026-12-15"))
    assert _of(settled).words == "ACCEPTED WITH DEVIATIONS"


def test_a_note_settles_no_failure() -> None:
    """Class C needs no acceptance and covers nothing."""
    assert _of(good_visit().add(_deviation("C"))).words == "ACCEPTED WITH DEVIATIONS"
    assert _of(good_visit().step("N1", "not decided").add(_deviation("C"))).words == "NOT ACCEPTED"


def test_not_tested_and_simulated_are_named_with_their_reason() -> None:
    """What was not tested is never a blank, and takes the plain word away."""
    found = _of(good_visit().step("N1", "not tested", "no oil to spare").step("B4", "simulated", "plate covered"))
    assert found.words == "ACCEPTED WITH DEVIATIONS"
    assert found.not_tested == ("N1 Prove low fluid: no oil to spare",)
    assert found.simulated == ("B4 Read the tag plate: plate covered",)


def test_a_void_result_is_not_accepted_until_it_is_repeated() -> None:
    """An adjustment makes an earlier pass void."""
    visit = good_visit().add(bodies.Adjusted(touched="closed-limit", detail="screw tightened"))
    found = _of(visit)
    assert found.words == "NOT ACCEPTED"
    assert any("K1-close" in item and "screw tightened" in item for item in found.void)
    visit.step("K1-close").step("K1-open")
    assert _of(visit).words == "ACCEPTED"


def test_something_temporary_is_not_accepted() -> None:
    """One thing left on is enough."""
    visit = good_visit().add(
        bodies.TemporaryAdded(id="T1", kind="setting", what="run limit 300 s", where="unit", why="bleeding")
    )
    assert "still on: run limit 300 s, unit" in _of(visit).against
    visit.add(bodies.TemporaryRemoved(id="T1", second_person=OLLIE, proved_by="read back 75 s"), by=TESS)
    assert _of(visit).words == "ACCEPTED"


def test_a_stopped_step_is_not_accepted() -> None:
    """Stopped is done for now, not done."""
    assert "stopped and not repeated: N1 Prove low fluid" in _of(good_visit().step("N1", "stopped")).against


def test_a_step_repeated_but_left_open_keeps_its_earlier_result() -> None:
    """Begun again and not concluded, the first result still stands."""
    assert _of(good_visit().add(bodies.StepBegun(step="N1"))).words == "ACCEPTED"


def test_steps_never_reached_are_listed() -> None:
    """A visit that was broken off says what it never came to."""
    found = _of(eventful_visit())
    assert "not reached: K1-open" in found.not_tested
    assert "steps not concluded: 1" in found.against
    assert "1 not reached" in found.counts


def test_a_record_that_cannot_be_read_whole_is_not_accepted() -> None:
    """An event that this program must know and does not may hold anything."""
    visit = good_visit()
    strange = visit.events[-1]
    later = msgspec.structs.replace(strange, n=strange.n + 1, kind="brake_released", need=True, body={})
    visit.job = visit.job.after(later)
    assert any("brake_released" in item for item in _of(visit).against)
