"""O2 and O7 played: five points up and down, and the last comparison."""

import pytest

from commission.analysis.monitor import LARGEST, MonitorSeen, NoPoint, equal_figures, monitor_figures
from commission.procedures.monitor_points import monitor_back, monitor_points
from tests.procedures.monitored import GAUGE, Monitored
from tests.procedures.played import play
from tests.sheet.xv import xv_1101

ARGUMENTS = {"gauge": GAUGE, "test": "O2 1"}


def points(unit: Monitored) -> MonitorSeen:
    """Play O2."""
    seen, begun = play(monitor_points(xv_1101(), ARGUMENTS), unit)
    assert isinstance(seen, MonitorSeen)
    assert begun.commands == ()
    return seen


def back(unit: Monitored) -> MonitorSeen:
    """Play O7."""
    unit.said.setdefault("sealed", ["S-4471; Tess"])
    unit.said.setdefault("second", ["Ollie"])
    seen, _ = play(monitor_back(xv_1101(), ARGUMENTS), unit)
    assert isinstance(seen, MonitorSeen)
    return seen


def test_nine_points_up_and_down() -> None:
    """Each with the gauge; trips that came on the way are reset at the end."""
    unit = Monitored(off_bar=0.2)
    seen = points(unit)
    assert [(known.point_pct, known.up) for known in seen.readings] == [
        (0, True), (25, True), (50, True), (75, True), (100, True), (75, False), (50, False), (25, False), (0, False),
    ]  # fmt: skip
    figure = monitor_figures(seen, xv_1101())[0]
    assert figure.name == LARGEST
    assert figure.unrounded == pytest.approx(0.002, abs=0.0003)
    assert not any(unit.latched.values())


def test_a_point_is_read_when_it_stands_still() -> None:
    """A leaking pump is waited for; one that creeps while the gauge is read is read again."""
    unit = Monitored()
    creeps = iter([True])

    def creep(_ask: object) -> None:
        if next(creeps, False):
            unit.ramp(unit.bar + 2.0, 0.5)

    unit.hands["gauge"] = creep
    seen = points(unit)
    assert any("not still while it was read" in note for note in unit.notes)
    assert len(seen.readings) == 9


def test_who_cannot_make_a_point_keeps_what_was_read() -> None:
    """The pump gives no more than 80 bar."""
    unit = Monitored()
    usual = unit.hands["to"]

    def hand(ask: object) -> None:
        if (getattr(ask, "target", 0.0) or 0.0) > 80:
            unit.said["to"] = ["cannot, the pump gives no more"]
        usual(ask)  # type: ignore[arg-type]  # the question

    unit.hands["to"] = hand
    seen = points(unit)
    assert seen.why == "" or "no more" in seen.why


def test_put_back_takes_a_seal_a_second_person_and_an_equal_gauge() -> None:
    """All three, and they stand beside the figure."""
    seen = back(Monitored())
    assert seen.put_back == "Root valve open, seal S-4471, by Tess, seen by Ollie"
    assert equal_figures(seen, xv_1101())[0].unrounded == pytest.approx(0.0, abs=0.06e5)


def test_nobody_is_their_own_second_person() -> None:
    """Asked again until somebody else looked; a seal without a number likewise."""
    unit = Monitored()
    unit.said = {"sealed": ["S-4471", "S-4471; Tess"], "second": ["tess", "Ollie"]}
    assert "seen by Ollie" in back(unit).put_back
    assert any("cannot be the second person" in note for note in unit.notes)
    assert any("both needed" in note for note in unit.notes)


def test_a_root_valve_left_shut_is_never_equal() -> None:
    """The block is not concluded: there is no figure."""
    unit = Monitored(off_bar=-11.8)
    seen = back(unit)
    assert seen.readings == ()
    assert "differ by" in seen.why
    with pytest.raises(NoPoint, match="differ by"):
        equal_figures(seen, xv_1101())


def test_whoever_cannot_seal_it_says_so() -> None:
    """And it is not concluded."""
    unit = Monitored()
    unit.said = {"sealed": ["cannot, no seals left"]}
    assert "no seals" in back(unit).why
