"""Protections of the practice unit over a real wire, in virtual time: at their real limits, judged, recomputed."""

import asyncio
import contextlib
from collections.abc import Callable, Mapping
from datetime import timedelta
from pathlib import Path

import pytest

from commission.analysis.protection import RESTARTS, TIME
from commission.job import bodies
from commission.job.motions import Run
from commission.practice.acts import NotDone
from commission.practice.condition import HEALTHY, Condition
from commission.practice.site import SiteDesk
from commission.procedures.requests import Answer, Ask
from commission.verify import Recomputed, verify_job
from tests.journeys.test_monitor import step_of
from tests.virtual_time import run_virtual
from tests.visiting import CHECKLIST, OLLIE, TESS, There, visiting

SPEED = 20.0
WHICH = ("low_fluid", "not_automatic", "supply", "run_limit", "starts", "travel_open")
STEPS = CHECKLIST + "".join(
    [step_of(20 + number, "protection", f'which = "{which}"') for number, which in enumerate(WHICH[:3])]
    + [step_of(23 + number, "protection_timed", f'which = "{which}"') for number, which in enumerate(WHICH[3:])]
    + [step_of(29, "alarm_contact", state="control")]
)


def orders(desk: SiteDesk, *which: str) -> None:
    """What the control room sends; a refusal is its answer."""
    for order in which:
        with contextlib.suppress(NotDone):
            desk.act("other_master_orders", which=order)


def bleed(desk: SiteDesk, share: float | bool) -> None:  # noqa: FBT001  # as the act takes it
    """BV-1."""
    desk.act("bleed", share, which="BV-1")


def led_away(desk: SiteDesk) -> None:
    """Oil led away, then OPEN."""
    bleed(desk, True)
    orders(desk, "open")


def acts(desk: SiteDesk, **switches: bool) -> None:
    """One after the other."""
    for name, value in switches.items():
        desk.act(name, value)


def put_back(desk: SiteDesk) -> None:
    """Everything as it was, whichever it was."""
    orders(desk, "stop")
    desk.act("lift_float", False)
    desk.act("selector", "REMOTE")
    desk.act("battery_v", 25.6)
    bleed(desk, False)
    desk.unit.advance(5.0)


CAUSES: Mapping[str, Callable[[SiteDesk], None]] = {
    "Lift": lambda desk: desk.act("lift_float", True),
    "Turn": lambda desk: desk.act("selector", "LOCAL"),
    "Lower": lambda desk: desk.act("battery_v", 20.0),
    "Crack": lambda desk: bleed(desk, 0.06),
    "Let t": lambda desk: bleed(desk, 0.02),
    "Have": led_away,
}
CONTACT: Mapping[str, Callable[[SiteDesk], None]] = {
    "contact healthy": lambda desk: desk.act("local_reset"),
    "contact alarm": lambda desk: desk.act("lift_float", True),
    "contact power off": lambda desk: acts(desk, lift_float=False, control_supply=False),
    "contact wire cut": lambda desk: acts(desk, control_supply=True, alarm_wire_cut=True),
    "contact whole": lambda desk: desk.act("alarm_wire_cut", False),
}


class AtTheUnit:
    """People who cause, look, read out and put back."""

    def __init__(self) -> None:
        self.there: There | None = None

    async def ask(self, question: Ask) -> Answer:
        """One answer, as things stand at the unit; what only has to be done is left open."""
        assert self.there is not None
        desk, clock = self.there.unit.desk, self.there.visit.clock
        if question.id == "cause it":
            CAUSES[question.text[:5].strip()](desk)
        elif question.id == "reset":
            desk.act("local_reset")
        elif question.id == "back":
            put_back(desk)
        elif question.id in CONTACT:
            CONTACT[question.id](desk)
            desk.unit.advance(1.0)
        value = float(desk.read("alarm_volts")) if question.id.startswith("volts") else None
        if question.id in ("cause it", "watching", "reset"):
            await asyncio.Event().wait()
        words = {"try": "refused, Mara", "panel": "ALARM lit"}.get(question.id, "done")
        if question.id == "try":
            orders(desk, "open")
        if question.id == "room":
            at = clock.utc() - timedelta(seconds=float(desk.read("alarm_age")) + 7)
            words = f"XV-1101 TROUBLE, {at:%H:%M:%S}"
        if question.id.startswith("room "):
            words = "healthy" if desk.read("control_room")["alarm_contact_closed"] else "TROUBLE"
        return Answer(question.id, words, OLLIE, clock.unit_ns(), value)


def visit(
    folder: Path, *steps: str, condition: Condition = HEALTHY, opened: bool = False, **settings: float
) -> list[Run]:
    """The runs of these steps at a unit in this condition; a setting that the unit really has."""
    found: list[Run] = []

    async def main() -> None:
        people = AtTheUnit()
        async with visiting(folder, steps=STEPS, people=people, speed=SPEED, condition=condition) as there:
            people.there = there
            if steps == ("K29",):
                there.arrive()
                there.cross("in operation", "locked", "control")
            else:
                await there.go_live()
            there.visit.record(bodies.ClockCompared(when="start", offset_s=7.0, against="log"), TESS)
            if opened:
                there.opened_at_the_panel()
            for name, value in settings.items():
                there.unit.desk.unit.change_setting(name, value)
            for step in steps:
                await there.run(step)
                there.visit.record(bodies.StepConcluded(step=step, verdict="pass"), TESS)
            found.extend(run for run in there.visit.job.runs.values() if run.begun.step in steps)

    run_virtual(main())
    checked = verify_job(folder / "XV-1101.job")
    assert {check.recomputed for check in checked.figures} == {Recomputed.SAME}
    return found


def said(run: Run) -> tuple[str, str]:
    """Verdict and words of a run."""
    return str(run.results[-1].verdict), run.results[-1].rule


def test_low_fluid_not_automatic_and_low_supply_act_and_go(tmp_path: Path) -> None:
    """Seen at the unit and in the control room, with both times; the pump stays off; nothing is sent from here."""
    runs = visit(tmp_path, "K20", "K21", "K22")
    assert [said(run)[0] for run in runs] == ["pass"] * 3, [said(run) for run in runs]
    for run in runs:
        assert run.proved is not None
        (row,) = run.proved.points
        assert row.read_back == "XV-1101 TROUBLE"
        assert row.their_time
        assert row.seen_by == OLLIE
        assert "went with its cause" in row.seen
        assert run.sent == ()


@pytest.mark.long
def test_an_opening_that_does_not_arrive_gives_up_at_its_time_out(tmp_path: Path) -> None:
    """240 s by the sheet: a setting of 200 s is found."""
    (right,) = visit(tmp_path, "K25")
    assert said(right)[0] == "pass"
    figure = right.figure(TIME)
    assert figure is not None
    assert abs(figure.unrounded - 240.0) <= 1.0


@pytest.mark.long
def test_the_seventh_start_is_refused(tmp_path: Path) -> None:
    """Six are allowed without a change of command."""
    (run,) = visit(tmp_path, "K24", opened=True)
    figure = run.figure(RESTARTS)
    assert figure is not None
    assert figure.value == "6"
    assert said(run)[0] == "pass", said(run)


@pytest.mark.long
def test_a_limit_raised_and_forgotten_is_found(tmp_path: Path) -> None:
    """As on BDV-3307: the run limit is not what the sheet says."""
    (run,) = visit(tmp_path, "K23", opened=True, run_limit=60.0)
    assert said(run)[0] == "fail"
    figure = run.figure(TIME)
    assert figure is not None
    assert abs(figure.unrounded - 60.0) <= 1.0


@pytest.mark.parametrize("inverted", [False, True], ids=["right contact", "contact chosen from the drawing"])
def test_the_alarm_contact_in_four_states(tmp_path: Path, inverted: bool) -> None:  # noqa: FBT001
    """The planted finding of BDV-3307: silent when power is removed."""
    condition = Condition(alarm_contact_inverted=inverted)
    (run,) = visit(tmp_path, "K29", condition=condition)
    assert said(run)[0] == ("fail" if inverted else "pass"), said(run)
    assert run.proved is not None
    findings = {point.forced: point.finding for point in run.proved.points}
    assert (findings["alarm contact, power off"] == "wrong sense") is inverted
    if inverted:
        assert "silent when it matters" in said(run)[1]
