"""What an event made true, in one sentence."""

from typing import Any

import msgspec
import pytest

from commission.face.news import news_of, void_steps
from commission.figure import make_figure
from commission.job import bodies
from commission.job.bodies import Body
from tests.walk.visits import TESS, Person, Visit, good_person


def told(visit: Visit, body: Body) -> str:
    """The news of recording this."""
    visit.record(body)
    return news_of(visit.events[-1], visit.job)


def test_most_events_are_no_news() -> None:
    """Who is there is on the screen anyway."""
    visit = Visit()
    assert told(visit, bodies.PersonAdded(name=TESS, role="technician")) == ""


def test_a_deviation_warns() -> None:
    """With its class and what was found, and its signal word first."""
    raised = bodies.DeviationRaised(
        id="D1", step="A3", required="in date", found="[b]gauge[/b] overdue", risk="", classed="B"
    )
    assert told(Visit(), raised) == "WARNING  Deviation D1, class B: [b]gauge[/b] overdue"


def test_a_verdict_is_said_with_its_reason() -> None:
    """In one line."""
    visit = Visit()
    visit.record(bodies.StepBegun(step="A3"))
    concluded = bodies.StepConcluded(step="A3", verdict="not tested", reason="no gauge")
    assert told(visit, concluded) == "A3: not tested. no gauge"


def test_strokes_taken_together_are_said_with_their_verdicts() -> None:
    """How they repeat, and friction at half travel; what nobody can act on now is left to the report."""
    visit = Visit()
    friction = make_figure("friction_50_pct", 22_030.0, 700.0, "N", "pairs.friction_and_spring/1")
    quarter = make_figure("friction_25_pct", 19_950.0, 850.0, "N", "pairs.friction_and_spring/1")
    repeat = make_figure("repeatability_closing", 0.0046, 0.0031, "1", "repeats.series/1")
    result = bodies.ResultDecided(
        run="", step="K1", test="K1 closing strokes together", figure=repeat.name, verdict="pass", rule="",
        limit_low="", limit_high="0.05", origin="common practice",
    )  # fmt: skip
    together = bodies.SeriesCompared(step="K1", runs=(), figures=(repeat, friction, quarter), results=(result,))
    assert told(visit, together) == (
        "Strokes of K1 together: repeatability closing 0.46 ± 0.31 %, pass; friction at half travel 22.03 ± 0.70 kN"
    )
    assert told(visit, msgspec.structs.replace(together, figures=(quarter,), results=())) == ""
    dry = make_figure("insulation_at_40_c", 52.2e6, 7.0e6, "ohm", "supply_trace.readings/2")
    answers = bodies.SeriesCompared(step="F3", runs=(), figures=(dry,), results=(), answers={"insulation": "240000000"})
    assert told(visit, answers) == "Computed from the answers of F3: insulation at 40 °C 52.2 ± 7.0 megaohm"


def test_an_adjustment_says_what_is_void() -> None:
    """The steps that are to be walked again."""
    person: Person = good_person()
    step = person.walk_to("K1")
    assert step.id == "K1"
    visit = person.visit
    touched = next(
        name
        for name, entry in visit.job.checklist.voids.items()
        if any(visit.job.steps[known].done for known in entry.voids if known in visit.job.steps)
    )
    words = told(visit, bodies.Adjusted(touched=touched, detail="needle from 2 to 1¾ turns"))
    void = void_steps(visit.job)
    assert void
    assert words == f"{touched} was adjusted. Void, to be repeated: {', '.join(void)}"


def test_a_number_is_said_as_it_was_understood_with_its_verdict() -> None:
    """A text is not: it stands as it was typed."""
    visit = Visit()
    step, question = next(
        (step, question)
        for step in visit.job.checklist.steps
        for question in step.questions
        if question.kind == "number" and question.unit
    )
    visit.record(bodies.StepBegun(step=step.id))
    given: dict[str, Any] = {"step": step.id, "question": question.id, "text": "12,5", "unit": question.unit}
    words = told(visit, bodies.Answered(**given, value=12.5, verdict="pass"))
    assert words == f"{question.ask.rstrip('?')}: 12.5 {question.unit}, pass"
    assert told(visit, bodies.Answered(**{**given, "unit": ""})) == ""


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (bodies.ContactLost(reason="no answer"), "NO CONTACT: no answer"),
        (bodies.EnergyLost(reason="gas alarm"), "UNKNOWN: gas alarm"),
    ],
)
def test_what_was_lost_is_said(body: Body, words: str) -> None:
    """Contact and state."""
    visit = Visit()
    visit.connect()
    assert words in told(visit, body)
    if isinstance(body, bodies.ContactLost):
        assert told(visit, bodies.ContactBack()) == "Contact is back"


def test_entering_live_says_keep_out() -> None:
    """Each state entered is said; live with its warning."""
    person = good_person()
    person.walk_to("K1")
    entered = [event for event in person.visit.events if event.kind == bodies.kind_of(bodies.EnergyEntered)]
    words = [news_of(event, person.visit.job) for event in entered]
    assert "The unit is now LIVE. Keep out" in words
    assert "The unit is now LOCKED" in words


@pytest.mark.parametrize(("offset_s", "words"), [(7.8, "7.8 s ahead of"), (-2.0, "2.0 s behind")])
def test_the_clocks_are_compared_in_words(offset_s: float, words: str) -> None:
    """Laptop minus control room, with its unit and its sense."""
    visit = Visit()
    step, question = next(
        (step, question)
        for step in visit.job.checklist.steps
        for question in step.questions
        if question.effect == "clock"
    )
    visit.record(bodies.StepBegun(step=step.id))
    said = told(visit, bodies.Answered(step=step.id, question=question.id, text="14:02:11", value=offset_s, unit=""))
    assert said == f"The laptop's clock is {words} the control room's"
