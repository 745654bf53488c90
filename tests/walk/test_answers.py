"""From what is typed to events, or a refusal that says what was expected."""

import pytest

from commission.job.bodies import (
    Adjusted,
    Answered,
    ClockCompared,
    DeviationRaised,
    EnergyProved,
    MovementConfirmed,
    PermitRecorded,
    StepBegun,
    StepConcluded,
    TemporaryAdded,
)
from commission.walk.answers import AnswerError, answer
from commission.walk.prompts import Ask, Conclude, ConfirmMovement, Cross, Evidence, Prompt, pending
from tests.walk.visits import TESS, Person, good_person


def _at(step: str, question: str = "") -> tuple[Person, Prompt]:
    """A person at this question of this step."""
    person = good_person()
    chosen = person.walk_to(step)
    while True:
        prompt = pending(person.visit.job, chosen, person.visit.now)
        if isinstance(prompt, Ask) and prompt.question.id == question:
            return person, prompt
        if isinstance(prompt, Evidence) and prompt.need.fact == question:
            return person, prompt
        person.act(chosen, prompt)


def _say(step: str, question: str, text: str, measured: float | None = None) -> tuple[object, ...]:
    person, prompt = _at(step, question)
    visit = person.visit
    return answer(visit.job, visit.job.checklist.step(step), prompt, text, TESS, visit.now, measured)


def test_a_number_is_taken_in_any_unit_and_with_a_decimal_comma() -> None:
    """As typed, and as understood."""
    (answered,) = _say("F2", "bond", "40 mohm")
    assert isinstance(answered, Answered)
    assert (answered.text, answered.value, answered.unit, answered.verdict) == ("40 mohm", 0.04, "ohm", "pass")
    (comma,) = _say("F2", "bond", "0,04")
    assert isinstance(comma, Answered)
    assert comma.value == 0.04


def test_a_bad_value_raises_a_deviation_with_what_was_required_and_found() -> None:
    """The limit with its origin."""
    answered, deviation = _say("F2", "bond", "0.4")
    assert isinstance(answered, Answered)
    assert isinstance(deviation, DeviationRaised)
    assert answered.verdict == "fail"
    assert deviation.required == "F2 Frame to station earth: at most 0.1 ohm (common practice, no source)"
    assert deviation.found == "F2 Frame to station earth: 0.4 ohm"


def test_a_differing_serial_is_a_deviation_and_a_wrong_tag_is_of_class_a() -> None:
    """A paper slip goes on the list; the wrong unit stops."""
    _, serial = _say("B4", "serial", "EH-40118")
    _, tag = _say("B4", "tag", "XV-1102")
    assert isinstance(serial, DeviationRaised)
    assert isinstance(tag, DeviationRaised)
    assert (serial.classed, tag.classed) == ("B", "A")


def test_a_value_that_will_be_put_right_raises_no_deviation_yet() -> None:
    """62 bar as found; 90 bar as left is an adjustment that voids what depends on it."""
    (found,) = _say("G4", "found", "62 bar")
    assert isinstance(found, Answered)
    assert found.verdict == "fail"
    left, adjusted = _say("G4", "left", "90")
    assert isinstance(left, Answered)
    assert left.verdict == "pass"
    assert adjusted == Adjusted(touched="precharge", detail="Precharge as left: 90 bar")


def test_a_permit_is_recorded_with_its_last_part() -> None:
    """Number, end, gas test and tester together."""
    bodies = _say("B3", "tester", "Ollie Sampleton")
    assert [type(body) for body in bodies] == [Answered, PermitRecorded]


def test_a_time_is_utc_today_or_tomorrow_or_minutes() -> None:
    """Never a moment that has passed."""
    (late,) = _say("B3", "until", "16:00")
    (early,) = _say("B3", "until", "06:00 UTC")
    (minutes,) = _say("B3", "until", "90 min")
    texts = [body.text for body in (late, early, minutes) if isinstance(body, Answered)]
    assert [text[:13] for text in texts] == ["2026-05-12T16", "2026-05-13T06", "2026-05-12T08"]


def test_the_clock_is_compared_by_voice() -> None:
    """Laptop minus control room."""
    person, prompt = _at("B2", "clock")
    said = person.words(person.visit.job.checklist.step("B2"), prompt)
    _, compared = answer(person.visit.job, person.visit.job.checklist.step("B2"), prompt, said, TESS, person.visit.now)
    assert isinstance(compared, ClockCompared)
    assert (compared.when, compared.offset_s) == ("start", 7.0)


def test_a_measured_question_takes_the_reading_and_never_an_absent_one() -> None:
    """No reading is never zero."""
    (answered,) = _say("B4", "identity", "read", 1101.0)
    assert isinstance(answered, Answered)
    assert (answered.value, answered.verdict) == (1101.0, "pass")
    with pytest.raises(AnswerError, match="never zero"):
        _say("B4", "identity", "1101")


def test_a_choice_is_taken_by_word_or_number() -> None:
    """Nothing else."""
    (answered,) = _say("B3", "laptop", "1")
    assert isinstance(answered, Answered)
    assert answered.text == "covered, or outside the boundary"
    with pytest.raises(AnswerError, match="none of: covered, or outside the boundary, not covered"):
        _say("B3", "laptop", "it is")


@pytest.mark.parametrize(
    ("step", "question", "text", "words"),
    [
        ("A5", "window", "", "nothing was answered"),
        ("A5", "window", "ok", "without looking"),
        ("F2", "bond", "low", "is not a number"),
        ("F2", "bond", "3 bar", "cannot be given"),
        ("B5", "people", "four", "whole number"),
        ("B3", "until", "25:00", "no time of day"),
        ("B2", "clock", "two o'clock", "with seconds"),
        ("E5", "locked", "the red one", "no lock number"),
        ("K1", "stem_open", "somewhere", "where the stem mark stood"),
    ],
)
def test_what_cannot_be_taken_names_the_place_and_what_was_expected(
    step: str, question: str, text: str, words: str
) -> None:
    """And changes nothing."""
    with pytest.raises(AnswerError, match=words) as raised:
        _say(step, question, text, 50.0)
    assert raised.value.place.startswith(step)
    assert raised.value.expected


def test_nobodys_word_is_not_taken() -> None:
    """Each answer has a name beside it."""
    person, prompt = _at("A5", "window")
    with pytest.raises(AnswerError, match="nobody's name"):
        answer(person.visit.job, person.visit.job.checklist.step("A5"), prompt, "all day", " ", person.visit.now)


def test_a_crossing_is_begun_and_entered_by_the_states_name() -> None:
    """Enter alone crosses nothing."""
    person = good_person()
    step = person.walk_to("E5")
    visit = person.visit
    while visit.job.energy_log.now.state != "locked":
        prompt = pending(visit.job, step, visit.now)
        if isinstance(prompt, Cross):
            with pytest.raises(AnswerError, match="changes nothing"):
                answer(visit.job, step, prompt, "", TESS, visit.now)
        person.act(step, prompt)
    kinds = [event.kind for event in visit.events if event.kind.startswith("energy")]
    begun = len(kinds) - 1 - kinds[::-1].index("energy_begun")
    assert set(kinds[begun + 1 : -1]) == {"energy_proved"}
    assert kinds[-1] == "energy_entered"


def test_a_blocked_dump_goes_on_the_temporary_list_by_itself() -> None:
    """Pumping with the dump blocked: nobody has to remember it."""
    proved, temporary = _say("H0", "dump held", "blocked by screw cap SC-2")
    assert isinstance(proved, EnergyProved)
    assert proved.details["how"] == "blocked"
    assert isinstance(temporary, TemporaryAdded)
    assert temporary.kind == "blocked-solenoid"


def test_begin_conclude_and_confirm_make_their_events() -> None:
    """Each by its word."""
    person = good_person()
    step = person.walk_to("K1")
    visit = person.visit
    begin = answer(visit.job, step, pending(visit.job, step, visit.now), "begin", TESS, visit.now)
    assert begin == (StepBegun(step="K1", cautions=step.cautions),)
    visit.record(begin[0])
    prompt = pending(visit.job, step, visit.now)
    assert isinstance(prompt, ConfirmMovement)
    (confirmed,) = answer(visit.job, step, prompt, "4 1101 Mara", TESS, visit.now)
    assert isinstance(confirmed, MovementConfirmed)
    (concluded,) = answer(visit.job, step, Conclude(), "conclude", TESS, visit.now)
    assert isinstance(concluded, StepConcluded)
