"""The pressure monitor of the practice unit over a real wire, in virtual time: found, timed, judged, recomputed."""

import asyncio
import contextlib
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from commission.analysis.trip_delay import TRIPPING
from commission.job import bodies
from commission.job.motions import Run
from commission.practice.acts import Act, NotDone
from commission.practice.condition import HEALTHY, Condition
from commission.practice.site import SiteDesk
from commission.procedures.requests import Answer, Ask
from commission.verify import Recomputed, verify_job
from tests.virtual_time import run_virtual
from tests.visiting import CHECKLIST, OLLIE, TESS, There, visiting

SPEED = 50.0
"""Of the practice unit: a fiftieth of the samples; every figure carries what that costs."""
GAUGE = "G-12; 0-100 bar; 0.1 bar; 0.1 bar"


def step_of(number: int, procedure: str, arguments: str = "", state: str = "live") -> str:
    """A step that runs one procedure."""
    return f"""
[[steps]]
id = "K{number}"
title = "Test the monitor"
state = "{state}"
do = "As called."
cautions = ["pinch"]
procedures = [{{ name = "{procedure}", arguments = {{ {arguments} }} }}]
"""


STEPS = CHECKLIST + "".join(
    (
        step_of(10, "trip_found"),
        step_of(11, "trip_delay", 'trip = "low"'),
        step_of(12, "trip_point", f'trip = "high", gauge = "{GAUGE}"'),
        step_of(13, "trip_latch", 'trip = "high"'),
        step_of(14, "trip_stroke", 'trip = "high", direction = "closed"'),
        step_of(15, "monitor_back", f'gauge = "{GAUGE}"'),
        step_of(16, "trip_delay", 'trip = "high"'),
        step_of(17, "monitor_loop", state="control"),
    )
)


class AtThePump:
    """People who do at the unit what is asked of them, and say what they read there."""

    def __init__(self) -> None:
        self.there: There | None = None

    async def ask(self, question: Ask) -> Answer:
        """Hands first; a question that is only watched is left open."""
        assert self.there is not None
        desk, clock = self.there.unit.desk, self.there.visit.clock
        known = {name: act for names, act in _HANDS.items() for name in names.split("|")}.get(question.id)
        if known is not None:
            known(desk, question)
        if question.id == "loop whole":
            await clock.sleep_wire(0.5)
            desk.act("local_reset")
        if question.id == "gauge":
            value = float(desk.read("line_gauge"))
            return Answer(question.id, "read", OLLIE, clock.unit_ns(), value)
        if question.id not in _WORDS:
            await asyncio.Event().wait()
        return Answer(question.id, _WORDS[question.id], OLLIE, clock.unit_ns())


def _power(desk: SiteDesk, _ask: Ask) -> None:
    desk.act("control_supply", False)
    desk.unit.advance(5.0)
    desk.act("control_supply", True)


def _from_the_room(desk: SiteDesk, _ask: Ask) -> None:
    for order in ("open", "reset"):
        with contextlib.suppress(NotDone):
            desk.act("other_master_orders", which=order)


def _pump(desk: SiteDesk, ask: Ask) -> None:
    desk.act("root_valve", False)
    desk.act("test_pump_bar", ask.target)


_HANDS: Mapping[str, Callable[[SiteDesk, Ask], None]] = {
    "root shut": lambda desk, _: desk.act("root_valve", False),
    "sealed": lambda desk, _: desk.act("root_valve", True),
    "venting": lambda desk, _: desk.act("vent_sensing_line"),
    "to|step": _pump,
    "pulse": lambda desk, ask: desk.perform(Act(name="test_pump_pulse", value=ask.target, seconds=1.0)),
    "reset": lambda desk, _: desk.act("local_reset"),
    "control room": _from_the_room,
    "power": _power,
    "loop open|loop shorted": lambda desk, ask: desk.act("monitor_loop", ask.id.removeprefix("loop ")),
    "loop whole": lambda desk, _: desk.act("monitor_loop", "whole"),
}
_WORDS = {
    "root shut": "HV-1101-7, lock 17",
    "reset while bad": "nothing let go",
    "control room": "both refused, Mara",
    "power": "Juno",
    "ready": "wanted; Mara Mockford",
    "sealed": "S-4471; Tess",
    "second": "Ollie",
}
"""What is said."""


def visit(
    folder: Path, *steps: str, condition: Condition = HEALTHY, opened: bool = False, seals: bool = True
) -> list[Run]:
    """The runs of these steps at a unit in this condition."""
    found: list[Run] = []

    async def main() -> None:
        people = AtThePump()
        async with visiting(folder, steps=STEPS, people=people, speed=SPEED, condition=condition) as there:
            people.there = there
            if steps == ("K17",):
                there.arrive()
                there.cross("in operation", "locked", "control")
            else:
                await there.go_live()
            if opened:
                there.opened_at_the_panel()
            for step in steps:
                await there.run(step)
                there.visit.record(bodies.StepConcluded(step=step, verdict="pass"), TESS)
            found.extend(run for run in there.visit.job.runs.values() if run.begun.step in steps)

    run_virtual(main())
    checked = verify_job(folder / "XV-1101.job")
    assert {check.recomputed for check in checked.figures} == {Recomputed.SAME}
    return found


def verdicts(runs: list[Run]) -> list[str]:
    """Of each run."""
    return [str(run.results[-1].verdict) for run in runs]


def test_the_short_delay_is_found_at_the_first_vent_and_by_the_pulse(tmp_path: Path) -> None:
    """The planted finding of the first visit: 0.5 s where 5.0 s was meant."""
    found, delayed = visit(tmp_path, "K10", "K11", condition=Condition(low_trip_delay_s=0.5))
    assert verdicts([found, delayed]) == ["fail", "fail"]
    tripping = delayed.figure(TRIPPING)
    delay = delayed.figure("trip_delay")
    assert tripping is not None
    assert delay is not None
    assert abs(tripping.unrounded - 1.0) <= float(tripping.expanded_uncertainty) + 0.05
    assert abs(delay.unrounded - 0.5) <= 2 * float(delay.expanded_uncertainty)  # a hand in step with the samples
    assert found.sent == delayed.sent == ()


def test_a_sound_monitor_passes_delay_and_latch(tmp_path: Path) -> None:
    """Against what the unit really does: 3.0 s; five proofs, over a loss of power too."""
    runs = visit(tmp_path, "K16", "K13")
    assert verdicts(runs) == ["pass", "pass"]
    delay = runs[0].figure("trip_delay")
    assert delay is not None
    assert abs(delay.unrounded - 3.0) <= 2 * float(delay.expanded_uncertainty)  # as above
    assert runs[1].proved is not None
    assert "refused" in runs[1].proved.points[2].seen
    assert not any(run.sent for run in runs)


def test_a_transmitter_that_is_off_is_not_equal_to_another_gauge(tmp_path: Path) -> None:
    """1.5 bar too high: the block is not concluded."""
    assert verdicts(visit(tmp_path, "K15", condition=Condition(monitor_off_bar=1.5))) == [
        "no test (stopped before motion)"
    ]


@pytest.mark.long
@pytest.mark.parametrize(("off_bar", "verdict"), [(0.0, "pass"), (1.5, "fail")], ids=["sound", "reads 1.5 bar more"])
def test_the_trip_point_is_the_true_pressure_at_which_it_trips(tmp_path: Path, off_bar: float, verdict: str) -> None:
    """Three staircases: 70.0 bar, and 68.5 where the transmitter reads too much."""
    (run,) = visit(tmp_path, "K12", condition=Condition(monitor_off_bar=off_bar))
    assert verdicts([run]) == [verdict]
    point = run.figure("trip_point")
    assert point is not None
    assert abs(point.unrounded - (70 - off_bar) * 1e5) <= float(point.expanded_uncertainty)


def test_an_open_valve_is_closed_by_a_trip_and_timed_from_it(tmp_path: Path) -> None:
    """8 s by its spring; then the comparison passes with the root valve open."""
    runs = visit(tmp_path, "K14", "K15", opened=True)
    assert verdicts(runs) == ["pass", "pass"]
    response = runs[0].figure("response_time")
    assert response is not None
    assert abs(response.unrounded - 8.0) <= 0.3
    assert runs[0].commanded_by == "pressure monitor"


def test_the_loop_open_and_shorted_in_control(tmp_path: Path) -> None:
    """As the sheet wants: low trip, high trip."""
    (run,) = visit(tmp_path, "K17")
    assert verdicts([run]) == ["pass"]
    assert run.proved is not None
    assert [point.seen.split(",")[0] for point in run.proved.points] == ["low trip", "high trip"]
