"""Everything shown fits 80 columns, cautions come first, and nothing that rule R13 hides is shown."""

from datetime import datetime

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.checklist import Checklist, SignalWord, load_checklist
from commission.content import checklists_folder
from commission.energy import EnergyState, Need
from commission.face import wording
from commission.procedures.requests import SafeEnd
from commission.sample import Silence
from commission.supervise.order import MotionView
from commission.walk.confirm import Confirmation
from commission.walk.movement import next_test
from commission.walk.prompts import Ask, ConfirmMovement, Cross, Evidence, Prompt, how_to_answer, pending
from tests.walk.visits import PEOPLE, START, Person, Visit, good_person

CHECKLISTS = ("commissioning.toml", "stroke.toml")


def checklist(name: str) -> Checklist:
    """One of the packed checklists."""
    return load_checklist(checklists_folder() / name)[0]


def too_wide(lines: list[str]) -> list[str]:
    """The lines beyond 80 columns."""
    return [line for text in lines for line in text.split("\n") if len(line) > wording.WIDTH]


@pytest.mark.parametrize("name", CHECKLISTS)
def test_every_step_fits_80_columns(name: str) -> None:
    """All lines of all steps of the packed checklists, with a state line as long as they come."""
    visit = Visit(checklist=load_checklist(checklists_folder() / name)[1])
    visit.lose_state("the program was not awake for 2000 s, which nobody has seen and nobody can say anything about")
    for step in visit.job.checklist.steps:
        assert too_wide(wording.step_lines(visit.job, step, START)) == [], step.id


def _at_m1(accuracy: str = "") -> tuple[Visit, list[str]]:
    """The outlook of M1, before the meter is known and after."""
    person = good_person()
    step = person.walk_to("M1")
    if accuracy:
        person.script["M1.accuracy"] = accuracy
        for _ in range(6):
            person.act(step, pending(person.visit.job, step, person.visit.now))
    lines = wording._span_outlook(person.visit.job, step, step.procedures[0], wording.WIDTH)
    return person.visit, lines


def test_a_span_says_its_points_its_limit_and_what_is_not_tested() -> None:
    """Before anything is typed, at 80 columns."""
    _, lines = _at_m1()
    text = " ".join(" ".join(lines).split())
    assert "±1 % of span at 0, 25, 50, 75, 100 % up (on/off, common practice, no source)" in text
    assert "points on the way down not tested: closing takes 8 s" in text
    assert "Decides" not in text
    assert too_wide(lines) == []


@pytest.mark.parametrize(("accuracy", "word"), [("0.02 mA", "yes"), ("1 % FS", "no")])
def test_a_span_says_whether_the_meter_decides_before_the_first_point(accuracy: str, word: str) -> None:
    """As soon as its accuracy is known, and the safe end too."""
    visit, lines = _at_m1(accuracy)
    assert any(line.startswith(f"Decides  {word}: U ") for line in lines)
    assert wording.safe_end_of(visit.job, visit.job.checklist.step("M1")) is SafeEnd.STOP


def test_a_span_that_cannot_be_begun_yet_is_no_trouble() -> None:
    """Without the meter the safe end is that of the stroke that ends the step."""
    visit, _ = _at_m1()
    step = visit.job.checklist.step("M1")
    assert wording.safe_end_of(visit.job, step) is SafeEnd.STOP
    alone = msgspec.structs.replace(step, procedures=step.procedures[:1])
    assert wording.safe_end_of(visit.job, alone) is SafeEnd.SEND_NOTHING


@pytest.mark.parametrize("name", CHECKLISTS)
def test_every_question_fits_80_columns(name: str) -> None:
    """All questions of the packed checklists."""
    for step in checklist(name).steps:
        for question in step.questions:
            assert too_wide(wording.prompt_lines(Ask(question))) == [], f"{step.id} {question.id}"


def test_every_prompt_of_a_whole_visit_fits_80_columns() -> None:
    """Every prompt that a visit meets, from the papers to the signatures."""
    person = good_person()
    wide: list[str] = []

    class Watching(Person):
        """Looks at each prompt before it is answered."""

        def words(self, step: object, prompt: Prompt) -> str:
            """What is typed."""
            wide.extend(too_wide(wording.prompt_lines(prompt)))
            return super().words(step, prompt)  # type: ignore[arg-type]  # passed through

    watching = Watching(person.visit, person.script)
    watching.walk()
    assert len(watching.walked) > 30
    assert wide == []


@given(
    st.text(alphabet=st.characters(codec="utf-8", exclude_categories=["C"]), max_size=300), st.text("ab ", max_size=12)
)
def test_a_labelled_text_fits_and_loses_nothing(text: str, label: str) -> None:
    """Any text and label: at most 80 columns, all words kept, in order."""
    lines = wording.labelled(label, text)
    assert too_wide(lines) == []
    if text.strip():
        assert "".join("".join(lines).split()) == "".join(f"{label} {text}".split())


def test_a_long_label_keeps_a_space() -> None:
    """The id of a step may be longer than the column of labels."""
    assert wording.labelled("B0-operation", "may not go on") == ["B0-operation may not go on"]


def test_cautions_come_before_what_to_do() -> None:
    """Each caution of a step stands above its instruction."""
    visit = Visit()
    for step in visit.job.checklist.steps:
        lines = wording.step_lines(visit.job, step, START)
        do = next(number for number, line in enumerate(lines) if line.startswith("Do "))
        words = [line for line in lines[:do] if line.startswith(("DANGER", "WARNING", "CAUTION", "NOTICE"))]
        assert len(words) == len(step.cautions), step.id


def test_the_danger_of_pumping_is_said_once() -> None:
    """The signal word stands in the column of labels and is not repeated in the text."""
    visit = Visit()
    person = Person(visit, {"dump held": "control power"})
    visit.connect()
    person.script.update({"B5.people": "4", "B5.jumpers": "none"})
    person.walk(lambda job: job.energy_log.now.state is EnergyState.PUMPING)
    step = visit.job.checklist.steps[0]
    shown = "\n".join(wording.step_body(visit.job, step))
    assert shown.startswith("DANGER   The dump is held by control power")


def test_r13_a_confirmation_shows_neither_count_nor_plate() -> None:
    """Its lines hold the cautions and the test, never what is to be typed."""
    person = good_person()
    step = person.walk_to("K1")
    prompt = pending(person.visit.job, step, person.visit.now)
    person.act(step, prompt)
    prompt = pending(person.visit.job, step, person.visit.now)
    assert isinstance(prompt, ConfirmMovement)
    assert prompt.kind is Confirmation.FULL
    shown = "\n".join([*wording.confirm_lines(person.visit.job, step, prompt), how_to_answer(prompt)])
    assert step.cautions
    assert person.visit.job.checklist.cautions[step.cautions[0]].word in shown
    assert "1101" not in shown
    assert str(PEOPLE) not in shown.split()


@pytest.mark.parametrize(
    ("name", "step", "safe_end"),
    [("commissioning.toml", "K1", SafeEnd.STOP), ("stroke.toml", "", SafeEnd.SEND_NOTHING)],
)
def test_r11_the_safe_end_is_the_procedures_own(name: str, step: str, safe_end: SafeEnd) -> None:
    """A stroke that somebody else commands is stopped by nothing here; the packed strokes to open stop."""
    visit = Visit(checklist=load_checklist(checklists_folder() / name)[1])
    steps = visit.job.checklist.steps
    wanted = visit.job.checklist.step(step) if step else next(known for known in steps if known.procedures)
    assert wording.safe_end_of(visit.job, wanted) is safe_end


def test_crossing_and_evidence_say_what_they_are() -> None:
    """Begun and entered are two decisions; evidence carries its clause and how much is left."""
    assert wording.prompt_lines(Cross(EnergyState.LIVE, enter=False)) == ["Begin to bring the unit to LIVE?"]
    assert wording.prompt_lines(Cross(EnergyState.LIVE, enter=True)) == ["All evidence is in. Is the unit now LIVE?"]
    need = Need("zero", "PG-1", "Read zero on the gauge of PG-1", "reading", "(d)(5)(i)", 1)
    assert wording.prompt_lines(Evidence(need, 3)) == [
        "Read zero on the gauge of PG-1. [29 CFR 1910.147(d)(5)(i)] (3 left)"
    ]


def test_a_silent_unit_in_a_motion_says_stay_clear() -> None:
    """Whatever the reason, in one line of 80 columns."""
    view = MotionView(test="K1 open 1", step="K1", begun_ns=0, silence=Silence(1, 0, 1, "no answer in 0.25 s " * 9))
    line = wording.motion_line(view)
    assert "NO ANSWER, stay clear" in line
    assert len(line) <= wording.WIDTH


def test_next_test_is_named_in_a_confirmation() -> None:
    """Which run is about to move is said."""
    job = Visit().job
    step = job.checklist.step("K1")
    test = next_test(job, step, step.procedures[0])
    assert test.name in wording.prompt_lines(ConfirmMovement(test, Confirmation.FULL))[0]


def test_the_permit_is_always_in_sight() -> None:
    """The head of each step carries the minutes left, or that there is no permit."""
    visit = Visit()
    head = wording.step_lines(visit.job, visit.job.checklist.steps[0], datetime.fromisoformat(START.isoformat()))
    assert any("no permit" in line for line in head[:4])


def test_the_gravest_caution_stands_first() -> None:
    """DANGER, WARNING, CAUTION, NOTICE, in whatever order the checklist names them (ANSI Z535.4)."""
    job = Visit().job
    order = [str(word) for word in SignalWord]
    for step in job.checklist.steps:
        words = [line.split()[0] for line in wording.step_body(job, step) if line.split(" ")[0] in order]
        assert words == sorted(words, key=order.index), step.id


def test_a_rule_of_our_own_is_no_clause() -> None:
    """Only what somebody can look up is named."""
    need = Need("locks looked at", "", "Look at every lock", "", "App. A, rule R6", 1)
    assert wording.prompt_lines(Evidence(need, 1)) == ["Look at every lock. [29 CFR 1910.147 App. A] (1 left)"]
    own = Need("locks looked at", "", "Look at every lock", "", "rule R3", 1)
    assert wording.prompt_lines(Evidence(own, 1)) == ["Look at every lock. (1 left)"]
