"""The procedures by their names: what checklists call for is there, and starts, measures and judges."""

import pytest

from commission.checklist import load_checklist
from commission.checklist.model import LOOKS, PULSE
from commission.content import checklists_folder
from commission.figure import make_figure
from commission.procedures.catalogue import CATALOGUE, direction_of
from commission.procedures.fail_safe_plan import BROUGHT
from commission.procedures.requests import Begin
from commission.sheet import End, load_sheet
from commission.walk.conditions import why_not

SHEET = load_sheet(checklists_folder() / "units" / "xv-1101.toml")[0]
UNITS = tuple(
    load_sheet(checklists_folder() / "units" / f"{tag}.toml")[0] for tag in ("xv-1101", "fcv-2204", "bdv-3307")
)


METER = {
    "meter": "M-03",
    "meter_accuracy": "0.02 mA",
    "stem_step": "0.5",
    "gauge": "G-12; 0-100 bar; 0.1 bar; 0.1 bar",
}
"""What people say of meter and gauge before a test begins; other procedures have no use for it."""


@pytest.mark.parametrize("name", ["commissioning.toml", "stroke.toml"])
def test_every_procedure_of_the_checklists_is_there_and_begins(name: str) -> None:
    """Named in a checklist, with its arguments there, it can be started on a unit that its step is for, with Begin."""
    checklist, _ = load_checklist(checklists_folder() / name)
    uses = [(step, use) for step in checklist.steps for use in step.procedures]
    assert uses
    for step, use in uses:
        sheet = next(unit for unit in UNITS if not why_not(step.when, unit))
        begun = next(CATALOGUE[use.name].start(sheet, {**use.arguments, **METER, "test": f"{step.id} 1"}))
        assert isinstance(begun, Begin)
        assert begun.test == f"{step.id} 1"
        assert set(begun.roles) <= {point.role for point in sheet.points}


def test_only_the_pulse_and_what_only_looks_run_in_control() -> None:
    """The names by which the walk knows them are in the catalogue; else only what people did is judged by its sight."""
    assert {name for name, test in CATALOGUE.items() if test.seen is not None} == {
        PULSE,
        *LOOKS,
        BROUGHT,
        "bring_back",
        "panel_acts",
        "trip_latch",
        "protection",
    }
    proofs = {name for name, test in CATALOGUE.items() if test.points is not None}
    assert proofs == {*LOOKS, "trip_latch", "protection", "protection_timed", "span"}


def test_direction_is_an_end_or_refused() -> None:
    """A misspelt direction never becomes some stroke."""
    assert direction_of({"direction": "open"}) is End.OPEN
    for arguments in ({}, {"direction": "Open"}, {"direction": "close"}):
        with pytest.raises(ValueError, match="not a valid End"):
            direction_of(arguments)


def test_judge_judges_the_figure_that_the_limit_means() -> None:
    """By name, wherever it stands; where it is missing there is nothing to judge."""
    judge, arguments = CATALOGUE["full_stroke"].judge, {"direction": "closed"}
    other = make_figure("dead_time", 0.5, 0.1, "s", "timing.stroke/1")
    judged = judge((other, make_figure("response_time", 8.0, 0.1, "s", "timing.stroke/1")), SHEET, arguments)
    assert judged is not None
    assert (judged.figure.name, judged.decision.verdict) == ("response_time", "pass")
    assert judge((other,), SHEET, arguments) is None


def test_what_only_looks_measures_nothing() -> None:
    """No figures, no judgement; who commanded it is the laptop."""
    test = CATALOGUE[PULSE]
    assert test.figures(object(), SHEET) == ()
    assert test.judge((), SHEET, {}) is None
    assert test.commanded_by == "laptop"
