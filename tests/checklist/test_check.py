"""Tests of what a checklist gets wrong although every field is well formed."""

import pytest

from tests.checklist.small import problems_of

GAP = 'id = "gap"'
CASES = {
    "step twice": (('id = "H2"', 'id = "B1"'), "step 'B1': id: found the same id twice"),
    "no step id": (('id = "B1"', 'id = ""'), "step '': id: found '', expected a phase letter and a number"),
    "lower case": (('id = "B1"', 'id = "b1"'), "expected a phase letter and a number, as K1 or K1-close"),
    "no phase": (('id = "B1"', 'id = "C1"'), "step 'C1': id: found phase C, expected a phase that is listed"),
    "phase twice": (('id = "B", name', 'id = "H", name'), "phases 'H': id: found the same id twice"),
    "caution unknown": (
        ('"Read the plate aloud."\ncautions = ["pinch"]', '"Read."\ncautions = ["pinhc"]'),
        "step 'B1': cautions: found 'pinhc', expected a name that is defined; did you mean 'pinch'?",
    ),
    "no caution": (
        ('"Read the plate aloud."\ncautions = ["pinch"]', '"Read."'),
        "step 'B1': cautions: found nothing, expected at least one caution",
    ),
    "need unknown": (('needs = ["B1"]', 'needs = ["B11"]'), "needs: found 'B11', expected a name that is defined"),
    "need itself": (('needs = ["B1"]', 'needs = ["H2"]'), "needs: found H2 needs H2, expected no circle"),
    "circle": (('needs = ["B1"]', 'needs = ["K1-close"]'), "expected no circle"),
    "question twice": (
        (GAP, 'id = "g"\nask = "?"\n[[steps.questions]]\nid = "g"'),
        "step 'H2', question 'g': id: found the same id twice",
    ),
    "role unknown": (('role = "travel"', 'role = "travle"'), "found 'travle', expected a known role; did you mean"),
    "if_bad later": ((GAP, f'{GAP}\nif_bad = "gap"'), "if_bad: found 'gap', expected an earlier question of the step"),
    "void unknown": (('"K1", "H2", "L"', '"k1"'), "void 'closed-limit': voids: found 'k1', expected a step id"),
    "nothing concludes": (
        ('questions = [{ id = "serial", ask = "Serial on the plate", expects = "identity.serial" }]', ""),
        "found nothing to conclude it by",
    ),
    "crosses to unknown": (('crosses = "live"', 'crosses = "unknown"'), "expected a state that evidence leads to"),
    "step in unknown": (('state = "any"', 'state = "unknown"'), "expected a crossing, which leads out of it"),
}


@pytest.mark.parametrize(("change", "words"), CASES.values(), ids=CASES.keys())
def test_a_contradiction_is_named(change: tuple[str, str], words: str) -> None:
    """One change to a sound checklist gives a problem with its place."""
    problems = problems_of(change)
    assert [problem for problem in problems if words in problem], problems


def test_the_sound_checklist_has_no_problem() -> None:
    """The cases above change something that was right."""
    assert problems_of() == []


@pytest.mark.parametrize(
    ("state", "access", "words"),
    [
        ("live", "inside, locked", "a live step never asks for hands inside a cover"),
        ("live", "fitted while locked", "a live step never asks for hands inside a cover"),
        ("in operation", "inside, locked", "a live step never asks for hands inside a cover"),
        ("live", "qualified person, at most 50 V, control, valve at fail position", "state control for work"),
        ("pumping", "qualified person, at most 50 V, control, valve at fail position", "state control for work"),
        ("control", "inside, locked", "qualified person, at most 50 V"),
        ("any", "inside, locked", "hands go in only in a named state"),
    ],
)  # fmt: skip
def test_r05_no_step_asks_for_hands_where_there_is_power(state: str, access: str, words: str) -> None:
    """Safety rule R5: the check refuses a step whose hands are inside in a state that may move or shock."""
    place = 'state = "locked"\naccess = "inside, locked"'
    problems = problems_of((place, f'state = "{state}"\naccess = "{access}"'))
    assert [problem for problem in problems if "step 'H2': access" in problem and words in problem], problems


@pytest.mark.parametrize("state", ["any", "locked", "control", "in operation"])
def test_nothing_moves_but_live_or_by_hand_pump(state: str) -> None:
    """A step that moves the valve, or runs a procedure, belongs to live."""
    problems = problems_of(('state = "live"\nmoves = true', f'state = "{state}"\nmoves = true'))
    assert [problem for problem in problems if f"a movement in state {state}" in problem]
    assert [problem for problem in problems if "procedures: found full_stroke" in problem]


def test_r08_commands_are_pulsed_in_control_only() -> None:
    """The one procedure that runs in control is the pulse that proves the command points."""
    pulse = ('name = "full_stroke"', 'name = "prove_commands"')
    assert [problem for problem in problems_of(pulse) if "only a pulse is in control" in problem]
    assert problems_of(pulse, ('state = "live"\nmoves = true', 'state = "control"')) == []
    looks = ('name = "full_stroke"', 'name = "see_contacts"')
    assert problems_of(looks, ('state = "live"\nmoves = true', 'state = "control"')) == [], "it commands nothing"
