"""Is a checklist sound for the walk?"""

import pytest

from commission.checklist import Checklist, parse_checklist
from commission.content import Text, checklists_folder
from commission.walk.soundness import check_walk
from tests.walk.visits import texts


def _changed(old: str, new: str) -> Checklist:
    _, (first, *rest) = texts()
    assert old in first.text
    return parse_checklist((Text(first.name, first.text.replace(old, new, 1)), *rest))


def _problems(old: str, new: str) -> str:
    return "\n".join(str(problem) for problem in check_walk(_changed(old, new), "mine.toml"))


def test_the_shipped_checklist_is_sound() -> None:
    """No effect, condition, role or expectation that the walk does not know."""
    assert check_walk(parse_checklist(texts()[1]), "commissioning.toml") == []


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('effect = "clock", about = "start"', 'effect = "clok", about = "start"', "did you mean 'clock'"),
        ('effect = "clock", about = "start"', 'effect = "clock", about = "sart"', "did you mean 'start'"),
        ('about = "tester"', 'about = "number"', "several questions about 'number'"),
        ('about = "precharge"', 'about = "precharges"', "did you mean 'precharge'"),
        ('about = "jumper"', 'about = "jumpers"', "did you mean 'jumper'"),
        ('effect = "stem mark", about = "open"', 'effect = "stem mark", about = "up"', "found 'up'"),
        ("when = { accumulator = true }", "when = { acumulator = true }", "found 'acumulator'"),
        ('when = { fail_position = "open" } },', 'when = { fail_positon = "open" } },', "'fail_positon'"),
        ('expects = "identity.serial"', 'expects = "identity.number"', "found 'identity.number'"),
        ('expects = "identity.serial"', 'expects = "answer.regster"', "an earlier question"),
        ('figure = "insulation_at_40_c"', 'figure = "insulation_at_40"', "did you mean 'insulation_at_40_c'"),
        ('id = "winding"', 'id = "windings"', "no number 'winding'"),
        ('state = "control"\ncrosses = "live"', 'state = "pumping"\ncrosses = "live"', "from pumping: locked"),
        ('state = "live"\ncrosses = "locked"\n', 'state = "in operation"\ncrosses = "live"\n', "back to locked"),
    ],
)
def test_each_mistake_names_step_field_and_what_is_known(old: str, new: str, words: str) -> None:
    """All before anybody stands at the unit."""
    assert words in _problems(old, new)


def test_texts_fit_the_smallest_screen() -> None:
    """Titles of at most 44 characters; what to do and cautions of at most four lines of 52."""
    checklist = parse_checklist(texts()[1])
    for step in checklist.steps:
        assert len(step.title) <= 44, step.id
    blocks = {step.id: step.do for step in checklist.steps} | {c.id: c.text for c in checklist.cautions.values()}
    for name, text in blocks.items():
        lines = text.strip().splitlines()
        assert len(lines) <= 4, name
        assert max(len(line) for line in lines) <= 52, name


def test_each_step_says_why_and_what_a_fault_looks_like() -> None:
    """And what moves by command or by panel says what is said on the radio first."""
    for step in parse_checklist(texts()[1]).steps:
        assert step.why, step.id
        assert step.fault, step.id
        if step.moves and step.state == "live":
            assert step.say or step.id == "J3", step.id


def test_every_file_of_the_folder_is_included() -> None:
    """Cautions and the table of what was touched."""
    names = {text.name for text in texts()[1]}
    other_checklists = {"retest.toml", "stroke.toml", "one-stroke.toml", "partial-stroke.toml"}
    assert names == {path.name for path in checklists_folder().glob("*.toml")} - other_checklists
