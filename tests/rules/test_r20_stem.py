"""Safety rule R20: somebody looks at the stem at both ends, once per direction and visit; else the verdict says so."""

import msgspec
import pytest

from commission.job.bodies import StepConcluded
from commission.walk.conclusion import conclude
from commission.walk.prompts import Conclude, pending
from tests.walk.visits import good_person


@pytest.mark.parametrize("seen", [(), ("open",), ("closed",)])
def test_r20_a_stroke_whose_stem_was_not_seen_both_ways_is_only_passed_at_the_actuator(seen: tuple[str, ...]) -> None:
    """One direction seen does not stand for the other."""
    person = good_person()
    step = person.walk_to("K1")
    visit = person.visit
    while not isinstance(pending(visit.job, step, visit.now), Conclude):
        person.act(step, pending(visit.job, step, visit.now))
    looks = tuple(look for look in visit.job.register.stem_looks if look.direction in seen)
    register = msgspec.structs.replace(visit.job.register, stem_looks=looks)
    (concluded,) = conclude(msgspec.structs.replace(visit.job, register=register), step)
    assert isinstance(concluded, StepConcluded)
    assert f"{concluded.verdict} {concluded.reason}" == "pass at the actuator; valve not observed"


def test_r20_seen_once_each_way_it_is_a_plain_pass() -> None:
    """The final stroke of the same visit asks for no second look."""
    person = good_person()
    person.walk()
    for name in ("K1", "Q3"):
        last = person.visit.job.steps[name].last
        assert last is not None
        assert (last.verdict, last.reason) == ("pass", "")


def test_r20_a_stem_that_went_nowhere_fails_whatever_the_limits_say() -> None:
    """The coupling has let go."""
    person = good_person()
    person.script["K1.stem_open"] = "closed to closed"
    person.walk_step(person.walk_to("K1"))
    last = person.visit.job.steps["K1"].last
    assert last is not None
    assert last.verdict == "fail"
