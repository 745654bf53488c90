"""Answers of a file: read strictly, given in order, each once unless it says otherwise."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.cli.answers_file import Answers, AnswersFile, FiledAnswer, load_answers, with_readings
from commission.content import ContentError
from tests.cli.conftest import ANSWERS


def filed(*answers: FiledAnswer) -> Answers:
    """Answers as of a file."""
    return Answers(AnswersFile(format=1, by="Tess Placeholder", answers=answers), "answers.toml")


def test_the_packed_answers_are_sound() -> None:
    """The file that walks the practice unit is read without a problem, and says whose words they are."""
    answers, text = load_answers(ANSWERS)
    assert answers.filed.by == "Tess Placeholder"
    assert text.name == ANSWERS.name
    assert answers.has("A3", "id")


def test_an_answer_is_given_once_in_the_order_of_the_file() -> None:
    """Two answers to one question are for two times it is asked; a third time there is none."""
    answers = filed(FiledAnswer(step="K1", to="stem", say="first"), FiledAnswer(step="K1", to="stem", say="second"))
    assert [answers.take("K1", "stem").say, answers.take("K1", "stem").say] == ["first", "second"]
    assert not answers.has("K1", "stem")
    with pytest.raises(ContentError, match=r"step 'K1'.*an answer to 'stem'"):
        answers.take("K1", "stem")


def test_an_answer_for_every_time_gives_way_to_one_for_this_time() -> None:
    """`again` answers all that nothing else does; `*` is any step."""
    answers = filed(
        FiledAnswer(step="*", to="people", say="3", again=True), FiledAnswer(step="E5", to="people", say="4")
    )
    assert [answers.take(step, "people").say for step in ("E5", "E5", "I1")] == ["4", "3", "3"]


def test_what_may_be_found_is_answered_by_how_its_question_ends() -> None:
    """`* then` is for every id that ends so, after those that name theirs, and for no other."""
    answers = filed(
        FiledAnswer(step="*", to="* then", say="go on", again=True), FiledAnswer(step="I2", to="a then", say="again")
    )
    assert [answers.take("I2", to).say for to in ("a then", "a then", "b then")] == ["again", "go on", "go on"]
    assert not answers.has("I2", "then")
    assert not answers.has("I2", "a then what")


@given(st.lists(st.tuples(st.sampled_from("AB*"), st.sampled_from("xy"), st.booleans()), max_size=8))
def test_has_says_whether_take_will_give(made: list[tuple[str, str, bool]]) -> None:
    """Whatever the file: `take` gives exactly where `has` says so."""
    answers = filed(*(FiledAnswer(step=step, to=to, say="s", again=again) for step, to, again in made))
    for step, to in [("A", "x"), ("B", "y"), ("A", "x"), ("A", "y"), ("B", "x")] * 2:
        if answers.has(step, to):
            assert answers.take(step, to).to == to
        else:
            with pytest.raises(ContentError):
                answers.take(step, to)


def test_mistakes_are_named_together(tmp_path: Path) -> None:
    """Unknown fields and missing ones, each with its place."""
    path = tmp_path / "answers.toml"
    path.write_text('format = 1\nby = "T"\n[[answers]]\nstepp = "A"\nto = "x"\nsay = "y"\n', encoding="utf-8")
    with pytest.raises(ContentError) as found:
        load_answers(path)
    assert len(found.value.problems) == 2
    assert "did you mean 'step'?" in str(found.value)


def test_readings_take_the_place_of_their_names() -> None:
    """Nested by points; the rest of the text stays."""
    read = {"stem": 0.5, "gauges": {"PG-1": 104}}
    assert with_readings("{gauges.PG-1} bar, stem {stem}", read) == "104 bar, stem 0.5"
    assert with_readings("nothing read", {}) == "nothing read"
    with pytest.raises(KeyError):
        with_readings("{gauges.PG-9}", read)


def test_a_contact_that_was_read_is_a_yes_or_a_no() -> None:
    """What is said goes into the record: it is a person's word, not a program's."""
    read = {"control_room": {"open_limit": True, "closed_limit": False}, "meter": 24.37}
    said = "open: {control_room.open_limit}, closed: {control_room.closed_limit}, {meter} V"
    assert with_readings(said, read) == "open: yes, closed: no, 24.37 V"
