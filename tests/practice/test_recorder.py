"""The recorder at the stem: its three times against what was done."""

import pytest

from commission.practice.recorder import STEP_S, StemRecorder
from commission.practice.site import SiteDesk
from tests.practice.made import MakeUnit


def test_cause_left_and_home_of_one_stroke() -> None:
    """Each to its own step."""
    recorder = StemRecorder()
    for tick in range(1000):
        now_s = tick * 0.01
        travel = 100.0 if now_s < 2.5 else max(0.0, 100.0 - 50.0 * (now_s - 2.5))
        recorder.see(now_s, travel, healthy=now_s < 2.3)
    assert recorder.shown == pytest.approx({"cause": 2.3, "left": 2.5, "home": 4.5}, abs=2 * STEP_S)


def test_the_next_stroke_takes_their_place() -> None:
    """It shows the last one."""
    recorder = StemRecorder()
    for tick in range(2000):
        now_s = tick * 0.01
        recorder.see(
            now_s, 10.0 * min(1.0, max(0.0, now_s - 1.0)) + 10.0 * min(1.0, max(0.0, now_s - 9.0)), healthy=True
        )
    assert recorder.shown["left"] == pytest.approx(9.02, abs=0.05)
    assert recorder.shown["home"] == pytest.approx(10.0, abs=0.05)
    assert recorder.shown["cause"] == 0.0


def test_a_unit_without_supply_is_still_recorded(make_unit: MakeUnit) -> None:
    """That is what it is fitted for: 8 s of closing, from the loss of control supply."""
    unit = make_unit("open")
    desk = SiteDesk(unit)
    unit.advance(2.0)
    desk.act("control_supply", False)
    unit.advance(20.0)
    times = desk.read("recorder")
    assert times["cause"] == pytest.approx(2.0, abs=0.05)
    assert times["home"] - times["cause"] == pytest.approx(8.2, abs=0.3)
    assert desk.read("mark") == "closed"
