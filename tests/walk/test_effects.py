"""What recording an answer also does."""

from datetime import timedelta

import msgspec
import pytest

from commission.checklist import Question, Step
from commission.figure import make_figure
from commission.job.bodies import (
    Answered,
    Body,
    DeviationRaised,
    InstrumentAdded,
    PersonAdded,
    Signed,
    StemLookedAt,
    StepBegun,
    TemporaryAdded,
)
from commission.walk.acts import ActError
from commission.walk.effects import EFFECTS, Given, clock_offset_s, effects_of, lowered_limit
from tests.walk.visits import START, TESS, Visit, good_person


def _given(question: Question, text: str, value: float | None = None, visit: Visit | None = None) -> Given:
    where = visit or Visit()
    step = Step(id="Z1", title="t", state="any", do="d", questions=(question,))
    answered = Answered(step="Z1", question=question.id, text=text, value=value)
    return Given(job=where.job, step=step, question=question, answered=answered, by=TESS, now=where.now)


def _made(effect: str, about: str, text: str, value: float | None = None) -> tuple[Body, ...]:
    return effects_of(_given(Question(id="x", ask="How?", effect=effect, about=about), text, value))


def test_no_effect_makes_nothing() -> None:
    """A plain answer is only an answer."""
    assert effects_of(_given(Question(id="x", ask="?"), "text")) == ()


def test_a_person_is_added_in_their_role() -> None:
    """By the question's `about`."""
    assert _made("person", "controller", "Mara Mockford") == (PersonAdded(name="Mara Mockford", role="controller"),)


def test_an_accuracy_that_is_not_understood_is_asked_again() -> None:
    """Before the meter is used for anything; one that is understood makes nothing but an answer."""
    visit = Visit()
    step = visit.job.checklist.step("M1")
    question = next(asked for asked in step.questions if asked.about == "meter_accuracy")
    for text, good in (("0.2 % rdg + 2 counts", True), ("rather good", False), ("0.2 % of the moon", False)):
        answered = Answered(step="M1", question=question.id, text=text)
        given = Given(job=visit.job, step=step, question=question, answered=answered, by=TESS, now=visit.now)
        if good:
            assert effects_of(given) == ()
        else:
            with pytest.raises(ActError, match="meter's accuracy"):
                effects_of(given)


def test_a_timer_that_is_not_understood_is_asked_again() -> None:
    """Before the supply is taken away: afterwards it is too late to find a recorder."""
    visit = Visit()
    step = visit.job.checklist.step("K4")
    question = next(asked for asked in step.questions if asked.about == "timed_by")
    for text, good in (("recorder 0.02 s", True), ("film 30 fps", True), ("my watch", False), ("film", False)):
        answered = Answered(step="K4", question=question.id, text=text)
        given = Given(job=visit.job, step=step, question=question, answered=answered, by=TESS, now=visit.now)
        if good:
            assert effects_of(given) == ()
        else:
            with pytest.raises(ActError, match=r"recorder 0\.02 s"):
                effects_of(given)


@pytest.mark.parametrize(("current_a", "days", "verdict"), [(0.76, 7.2, "pass"), (1.6, 3.5, "fail")])
def test_autonomy_follows_from_the_standing_current_and_a_measured_stroke(
    current_a: float, days: float, verdict: str
) -> None:
    """Trade guide 4.15: 0.76 A standing and 0.85 Ah a day leave 7.2 days; too little is a deviation."""
    visit = Visit()
    step = visit.job.checklist.step("P2")
    question = next(asked for asked in step.questions if asked.effect == "autonomy")
    answered = Answered(step="P2", question=question.id, text=f"{current_a} A", value=current_a, unit="A")
    given = Given(job=visit.job, step=step, question=question, answered=answered, by=TESS, now=visit.now)
    assert effects_of(given) == (), "no stroke was measured yet: a person answers"
    drawn = make_figure("charge_drawn", 0.85, 0.01, "A·h", "supply_trace.charge/1")
    person = good_person()
    person.walk_to("P2")
    run = next(iter(person.visit.job.runs.values()))
    runs = {**person.visit.job.runs, run.begun.run: msgspec.structs.replace(run, figures=(drawn,))}
    measured = msgspec.structs.replace(given, job=msgspec.structs.replace(person.visit.job, runs=runs))
    known, *rest = effects_of(measured)
    assert isinstance(known, Answered)
    assert (known.question, known.verdict) == ("autonomy", verdict)
    assert known.value == pytest.approx(days, abs=0.1)
    assert bool(rest) is (verdict == "fail")


def test_something_temporary_in_one_line_or_none() -> None:
    """What; where; why."""
    assert _made("temporary on", "jumper", "none") == ()
    (added,) = _made("temporary on", "jumper", "wire; TB-3; ESD held")
    assert isinstance(added, TemporaryAdded)
    assert (added.what, added.where, added.why) == ("wire", "TB-3", "ESD held")
    with pytest.raises(ActError, match="what; where; why"):
        _made("temporary on", "jumper", "a wire somewhere")


def test_the_stem_is_named_at_both_ends() -> None:
    """Safety rule R20."""
    looked = StemLookedAt(direction="open", start_mark="closed", end_mark="open")
    assert _made("stem mark", "open", "closed to open") == (looked,)
    assert _made("stem mark", "open", "Closed, open") == (looked,)
    with pytest.raises(ActError):
        _made("stem mark", "open", "open")


@pytest.mark.parametrize("value", [0.0, 24.0, 24.5, 50.0, 62.5, 100.0, None])
def test_a_round_value_proves_no_order(value: float | None) -> None:
    """62.5 and 50.0 read 0.00 with words swapped (trade guide I3)."""
    with pytest.raises(ActError, match="too round"):
        _made("not round", "", str(value), value)


def test_a_value_that_is_not_round_proves_it() -> None:
    """24.37 V."""
    assert _made("not round", "", "24.37", 24.37) == ()


@pytest.mark.parametrize(
    ("said", "seconds"),
    [("06:39:53", 7.0), ("06:40:07", -7.0), ("08:39:53", 7.0), ("01:10:00", 0.0), ("23:40:01", -1.0)],
)
def test_a_time_zone_is_no_offset(said: str, seconds: float) -> None:
    """Whole and half hours are taken out."""
    assert clock_offset_s(said, START) == seconds


def test_an_instrument_is_added_with_all_its_parts() -> None:
    """Id, what, certificate, due, range, uncertainty."""
    visit = Visit()
    step = visit.job.checklist.step("A3")
    visit.record(StepBegun(step="A3"))
    answers = ("PG-1", "gauge", "C-1", "2026-05-12", "0 to 250 bar", "0.5 bar")
    made = [effects_of(_instrument_part(visit, number, text)) for number, text in enumerate(answers)]
    assert made[:-1] == [()] * (len(step.questions) - 1)
    (added,) = made[-1]
    assert isinstance(added, InstrumentAdded)
    assert (added.due, added.uncertainty) == ("2026-05-12", "0.5 bar")


def test_an_overdue_instrument_is_a_deviation_and_a_text_that_is_no_date_is_asked_again() -> None:
    """Both at the question for the date, not when everything else was typed."""
    visit = Visit()
    visit.record(StepBegun(step="A3"))
    (overdue,) = effects_of(_instrument_part(visit, 3, "2026-05-11"))
    assert isinstance(overdue, DeviationRaised)
    assert "was due for calibration on 2026-05-11, and is used" in overdue.found
    with pytest.raises(ActError, match="'soon' is no date"):
        effects_of(_instrument_part(visit, 3, "soon"))


def _instrument_part(visit: Visit, number: int, text: str) -> Given:
    """The answer to one question of A3; it is recorded too."""
    step = visit.job.checklist.step("A3")
    question = step.questions[number]
    answered = Answered(step="A3", question=question.id, text=text)
    given = Given(job=visit.job, step=step, question=question, answered=answered, by=TESS, now=visit.now)
    visit.record(answered)
    return given


def test_a_permit_that_has_ended_is_not_recorded() -> None:
    """It is extended first."""
    person = good_person()
    visit = person.visit
    step = person.walk_to("B3")
    visit.record(StepBegun(step="B3"))
    ended = (visit.now - timedelta(minutes=1)).isoformat()
    for name, text in (("number", "1"), ("until", ended), ("gas_test", "0")):
        visit.record(Answered(step="B3", question=name, text=text))
    question = next(question for question in step.questions if question.id == "tester")
    answered = Answered(step="B3", question="tester", text="Ollie Sampleton")
    with pytest.raises(ActError, match="ended at"):
        effects_of(Given(job=visit.job, step=step, question=question, answered=answered, by=TESS, now=visit.now))


def test_signing_is_refused_while_anything_blocks_it() -> None:
    """With the first blocker and how many there are."""
    with pytest.raises(ActError, match=r"signing is blocked: .* in all"):
        _made("signed", "technician", "Tess Placeholder")
    person = good_person()
    person.walk_to("Q7")
    question = Question(id="x", ask="I did it", effect="signed", about="technician")
    (signed,) = effects_of(_given(question, "Tess Placeholder", visit=person.visit))
    assert signed == Signed(role="technician", statement="I did it", how="name typed: Tess Placeholder")


def test_a_lowered_limit_goes_on_the_temporary_list_with_who_approved() -> None:
    """Safety rule R23."""
    (added,) = _made("lowered limit", "run_limit", "20 s; 300 s; Piet Exampler")
    assert isinstance(added, TemporaryAdded)
    assert (added.kind, added.what) == ("setting", "run_limit lowered to 20 s")
    assert "Piet Exampler" in added.why
    assert lowered_limit("20 s; 300 s; P. Exampler") == ("20 s", "300 s", "P. Exampler")
    with pytest.raises(ActError, match="owner's engineer"):
        lowered_limit("20 s; 300 s;")


def test_every_effect_says_what_it_does() -> None:
    """For the one who writes a checklist."""
    assert all(effect.does for effect in EFFECTS.values())
