"""`commission retest`: from the job of an earlier visit, the as-found stroke first."""

import argparse

import pytest

from commission.checklist import load_checklist
from commission.cli.output import Ending, Status
from commission.cli.retest import run
from commission.content import checklists_folder
from tests.cli.conftest import SHEET


def test_it_begins_from_an_earlier_job() -> None:
    """A sheet alone says nothing of what this unit was."""
    with pytest.raises(Ending, match=r"begins from the job of an earlier visit.*commission run") as raised:
        run(argparse.Namespace(sheet=SHEET, connect="tcp://127.0.0.1:1"))
    assert raised.value.status is Status.USAGE


def test_r21_the_packed_retest_makes_the_as_found_stroke_first() -> None:
    """
    Before any opening, any partial stroke, any stop test; an isolation, which lets the valve go, waits for it too.
    Somebody stands at the local stop, and hours at rest are asked before it.
    """
    checklist, _ = load_checklist(checklists_folder() / "retest.toml")
    moving = [step for step in checklist.steps if step.procedures and not step.on_request]
    assert [step.id for step in moving][:3] == ["K1-closed", "K1-open", "L4"]
    assert "J2" not in {step.id for step in checklist.steps}
    assert {"stop", "stem_closed"} <= {question.id for question in moving[0].questions}
    isolating = [step for step in checklist.steps if step.crosses == "locked"]
    assert isolating
    assert all("K1-closed" in step.needs for step in isolating)
    before = next(step for step in checklist.steps if step.id == "B5")
    assert "B5" in moving[0].needs
    assert "rest_h" in {question.id for question in before.questions}
