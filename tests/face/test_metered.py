"""A meter that speaks for itself, over a pseudo-terminal: settled, whose word it is, and people where it fails."""

import asyncio
from collections.abc import Awaitable, Callable

import pytest

from commission.clock import Clock
from commission.content import checklists_folder
from commission.face.metered import METER, Metered, opened_meter
from commission.link.faults import LinkError
from commission.link.meter import Meter
from commission.practice.process import running
from commission.procedures.requests import Answer, Ask

UNIT = checklists_folder() / "units" / "xv-1101.toml"
READ = Ask(METER, "25 % up: the meter reads, in mA", "number", "mA")


class Person:
    """Types what they read."""

    def __init__(self) -> None:
        self.asked: list[Ask] = []

    async def ask(self, question: Ask) -> Answer:
        """Twelve and a bit."""
        self.asked.append(question)
        return Answer(question.id, "12.3", "T. Placeholder", 7, 12.3)


def with_meter(then: Callable[[Meter, Clock], Awaitable[None]]) -> None:
    """Do something with the practice clamp, served by a unit in a process of its own."""

    async def main(device: str) -> None:
        clock = Clock()
        meter = await opened_meter(f"M-03={device}", clock)
        try:
            await then(meter, clock)
        finally:
            meter.close()

    with running(UNIT, meters=True) as unit:
        asyncio.run(main(unit.at.meters["M-03"]))


def test_the_instrument_answers_what_is_asked_of_the_meter() -> None:
    """In the unit asked for, with its id and what it sent; nobody types. What is asked of people goes to them."""
    person = Person()

    async def then(meter: Meter, clock: Clock) -> None:
        people = Metered(person, meter, clock)
        answer = await people.ask(READ)
        assert answer.value == pytest.approx(4.0, abs=0.025), "closed, and within the clamp's accuracy"
        assert answer.by == "instrument M-03"
        assert "mA by wire, " in answer.text
        assert not person.asked
        await people.ask(Ask("stem", "25 % up: the stem reads", "number", "deg"))
        assert [question.id for question in person.asked] == ["stem"]

    with_meter(then)


def test_where_it_gives_no_reading_people_are_asked_and_told_why() -> None:
    """A port that has gone; or a question in a unit that it does not measure."""
    person = Person()

    async def then(meter: Meter, clock: Clock) -> None:
        people = Metered(person, meter, clock)
        await people.ask(Ask(METER, "the gauge reads", "number", "bar"))
        meter.close()
        answer = await people.ask(READ)
        assert answer.by == "T. Placeholder"
        assert len(person.asked) == 2
        assert person.asked[1].text.endswith(READ.text)
        assert len(person.asked[1].text) > len(READ.text) + 5

    with_meter(then)


@pytest.mark.parametrize("named", ["M-03", "M-99=/dev/null", "=", "M-03="])
def test_a_meter_that_is_not_named_rightly_is_refused(named: str) -> None:
    """With an example, and the ids that there are."""
    with pytest.raises(ValueError, match="as M-03=/dev/ttyUSB1, with the id one of C-07, G-11, M-03"):
        asyncio.run(opened_meter(named, Clock()))


def test_a_port_without_it_is_said() -> None:
    """No visit is begun with a meter that is not there."""
    with pytest.raises(LinkError):
        asyncio.run(opened_meter("M-03=/dev/does-not-exist", Clock()))
