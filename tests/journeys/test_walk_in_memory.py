"""The scripted visits themselves."""

from commission.job.state import fold
from tests.walk.visits import good_person


def test_a_scripted_person_walks_the_whole_checklist_to_the_signatures() -> None:
    """Every applicable step is concluded, every energy state was crossed, and both signatures stand."""
    person = good_person()
    person.walk()
    job = person.visit.job
    assert [signature.signed.role for signature in job.register.signatures] == ["technician", "operator"]
    crossed = [str(entry.target) for entry in job.energy_log.crossed]
    assert crossed[1:] == ["in operation", "locked", "pumping", "locked", "control", "live", "in operation"]
    assert fold(person.visit.events) == job
