"""Safety rule R28: not a safety system; site procedure, permits, local codes and licensed people win."""

from commission.walk import acts
from tests.walk.visits import Visit


def test_r28_the_first_step_of_the_walk_says_who_wins() -> None:
    """Before anything else is asked."""
    checklist = Visit().job.checklist
    assert "site-rules" in checklist.steps[0].cautions
    text = " ".join(checklist.cautions["site-rules"].text.split())
    assert "win over this list" in text
    for who in ("Site procedure", "permit", "local code", "licensed people"):
        assert who in text


def test_r28_a_disagreement_is_recorded() -> None:
    """As a deviation of its own, at any moment."""
    visit = Visit()
    visit.record(acts.raise_deviation(visit.job, "E5", "checklist: seven locks", "site asks for eight", classed="C"))
    assert visit.job.deviations["D1"].raised.found == "site asks for eight"
