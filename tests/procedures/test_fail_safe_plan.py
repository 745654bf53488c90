"""What a fail-safe stroke will be, from the sheet and the checklist alone."""

import msgspec
import pytest

from commission.analysis.fail_safe import Cause
from commission.analysis.outside_times import Source
from commission.procedures.fail_safe_plan import (
    away_from,
    fail_safe_plan,
    goes_to_safety,
    limits_to,
    safe_end_of,
    where_to,
)
from commission.procedures.fail_safe_plan import (
    test_words as words_of,
)
from commission.sheet import End, Sheet, load_sheet
from tests.analysis.seen import SHEET, UNIT

BDV = load_sheet(UNIT.parent / "bdv-3307.toml")[0]
FCV = load_sheet(UNIT.parent / "fcv-2204.toml")[0]


@pytest.mark.parametrize(
    ("sheet", "cause", "end"),
    [
        (SHEET, Cause.CONTROL, End.CLOSED),
        (SHEET, Cause.ALL, End.CLOSED),
        (SHEET, Cause.SIGNAL, End.CLOSED),
        (SHEET, Cause.MOTOR, None),
        (SHEET, Cause.ESD, End.CLOSED),
        (BDV, Cause.CONTROL, End.OPEN),
        (BDV, Cause.LOCAL_ESD, End.OPEN),
        (FCV, Cause.CONTROL, None),
        (FCV, Cause.SIGNAL, None),
        (FCV, Cause.ESD, End.CLOSED),
    ],
)
def test_where_the_valve_goes_is_the_sheets_word(sheet: Sheet, cause: Cause, end: End | None) -> None:
    """Closes, opens or holds; without its pump alone every valve stays."""
    assert where_to(sheet, cause) is end
    assert goes_to_safety(sheet, {"cause": cause.value}) is (end is not None)


def test_a_sheet_that_says_something_else_is_refused_with_its_words() -> None:
    """Nobody guesses what a valve does without power; names and safety rules that ask for it go on without."""
    behaviour = msgspec.structs.replace(SHEET.behaviour, lost_power="as found")
    odd = msgspec.structs.replace(SHEET, behaviour=behaviour)
    with pytest.raises(ValueError, match=r"'as found'.*closes, opens or holds"):
        fail_safe_plan(odd, {"cause": "control supply"})
    assert words_of(odd, {"cause": "control supply"}) == "control supply"
    assert not goes_to_safety(odd, {"cause": "control supply"})


def test_limits_are_the_emergencys_where_the_sheet_has_them() -> None:
    """A double-acting unit goes by its accumulator, whose stroke has limits of its own."""
    assert limits_to(FCV, End.CLOSED) == FCV.strokes.emergency
    assert limits_to(SHEET, End.CLOSED) == SHEET.strokes.closing
    assert limits_to(BDV, End.OPEN) == BDV.strokes.opening


def test_a_unit_without_a_safe_end_has_no_esd_stroke() -> None:
    """Said by the sheet's own silence."""
    assert FCV.accumulator is not None
    bottle = msgspec.structs.replace(FCV.accumulator, drives=None)
    with pytest.raises(ValueError, match="names no end"):
        safe_end_of(msgspec.structs.replace(FCV, accumulator=bottle))


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ({}, "Cause"),
        ({"cause": "lightning"}, "lightning"),
        ({"cause": "ESD", "selector": "AUTO"}, "LOCAL, OFF or REMOTE"),
        ({"cause": "ESD", "timed_by": "sundial"}, "recorder"),
        ({"cause": "motor supply", "during": "opposite"}, "stays where it is"),
    ],
)
def test_an_argument_that_makes_no_sense_is_named(arguments: dict[str, str], words: str) -> None:
    """Before anybody is asked for a go."""
    with pytest.raises(ValueError, match=words):
        fail_safe_plan(SHEET, arguments)


def test_a_whole_plan() -> None:
    """Everything that a checklist may say of it."""
    plan = fail_safe_plan(
        SHEET,
        {
            "cause": "ESD",
            "by": "push button",
            "selector": "OFF",
            "during": "opposite",
            "pump": "off",
            "reset": "proved",
            "timed_by": "film 30 fps",
            "begins": "first motion only",
        },
    )
    assert (plan.opposite, plan.pump_off, plan.reset_proof, plan.from_motion) == (True, True, True, True)
    assert plan.timer.source is Source.FILM
    assert plan.longest_s > SHEET.strokes.closing.longest_s
    assert words_of(SHEET, {"cause": "ESD", "during": "opposite"}) == "ESD midway"


def test_away_is_the_other_end() -> None:
    """Twice away is back."""
    assert [away_from(away_from(end)) for end in End] == list(End)
