"""Safety rule R4: the state line says whose word it is and how old; everybody clear is never said."""

import re
from pathlib import Path

import pytest

import commission
from commission.walk.state_line import state_line
from tests.walk.visits import Visit, good_person, texts


@pytest.mark.parametrize(
    ("step", "pattern"),
    [
        ("F2", r"LOCKED recorded \d\d:\d\d Tess Placeholder, 7 locks"),
        ("I2", r"CONTROL recorded \d\d:\d\d Tess Placeholder, 2 locks"),
        ("K1", r"LIVE keep out, 4 counted \d\d:\d\d"),
        ("Q5", r"IN OPERATION, look only, recorded \d\d:\d\d Tess Placeholder"),
    ],
)
def test_r04_the_state_line_says_whose_word_and_when(step: str, pattern: str) -> None:
    """In every state."""
    person = good_person()
    person.walk_to(step)
    assert re.fullmatch(pattern, state_line(person.visit.job))


def test_r04_unknown_says_since_when_and_why() -> None:
    """Nobody's word stands for it."""
    assert state_line(Visit().job) == "UNKNOWN since 06:40: a new job"


def test_r04_everybody_clear_is_never_said_by_program_or_checklist() -> None:
    """Only the count and its time. The words may stand in a docstring that forbids them."""
    for path in sorted(Path(commission.__file__).parent.rglob("*.py")):
        code = re.sub(r'"""[\s\S]*?"""', "", path.read_text(encoding="utf-8"))
        assert "everybody clear" not in code.lower(), path
    for text in texts()[1]:
        assert not re.search(r"everybody (is )?clear\b", text.text.lower()), text.name
