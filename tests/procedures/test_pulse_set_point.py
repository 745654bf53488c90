"""The proof of set point and source in control, reply by reply."""

from collections.abc import Callable

import pytest

from commission.procedures.pulse_seen import PulsesSeen
from commission.procedures.pulse_set_point import has_set_point, prove_set_point, raw_of_share
from commission.procedures.requests import Begin, Command, Reply, Request, SafeEnd, Sent, Watch
from commission.sample import Outcome
from commission.sheet.decode import Reading, Readings
from tests.analysis.seen import SHEET
from tests.procedures.test_fail_safe_plan import FCV


class Unit:
    """A unit that obeys, but for what a test takes away from it."""

    def __init__(self) -> None:
        self.at_ns = 0
        self.travel: float | None = 0.4
        self.set_point, self.link = 0.0, False
        self.obeys: Callable[[str], bool] = lambda _role: True
        self.refuses: frozenset[str] = frozenset()
        self.commands: list[tuple[str, int]] = []

    def reply(self, request: Request) -> Reply:
        """What it is given."""
        self.at_ns += 100_000_000
        if isinstance(request, Command):
            self.commands.append((request.role, request.value))
            if request.role in self.refuses:
                return Sent(request.role, request.value, self.at_ns, 0, Outcome.REFUSED, "selector in LOCAL")
            if self.obeys(request.role):
                self.set_point = request.value / 10000 if request.role == "set_point" else self.set_point
                self.link = {"command_follow_link": True, "command_follow_loop": False}.get(request.role, self.link)
            return Sent(request.role, request.value, self.at_ns, 0, Outcome.ANSWERED)
        if isinstance(request, Watch):
            values = {"set_point": self.set_point, "follows_link": float(self.link)}
            if self.travel is not None:
                values["travel"] = self.travel
            return Readings(1, self.at_ns, {name: Reading(value, self.at_ns, 0) for name, value in values.items()})
        return None


def proved(unit: Unit) -> PulsesSeen:
    """Proved on this unit."""
    procedure = prove_set_point(FCV, "I3 1")
    try:
        request = next(procedure)
        while True:
            request = procedure.send(unit.reply(request))
    except StopIteration as done:
        found: PulsesSeen = done.value
        return found


def test_r14_it_names_its_safe_end_and_its_hand_back() -> None:
    """Hold, then the loop again, read back; the first set point near where it stands."""
    begun = next(prove_set_point(FCV, "I3 1"))
    assert isinstance(begun, Begin)
    assert begun.safe_end is SafeEnd.STOP
    assert begun.hand_back is not None
    assert (begun.hand_back.command.role, begun.hand_back.seen_as) == ("command_follow_loop", False)
    assert begun.set_points is not None
    assert begun.set_points.near == 100


def test_each_is_seen_and_the_measured_position_is_what_is_given() -> None:
    """40 % of travel is 4000 in its register."""
    unit = Unit()
    found = proved(unit)
    assert found.all_proved, found.words
    assert unit.commands == [("set_point", 4000), ("command_follow_link", 1), ("command_follow_loop", 1)]
    assert not unit.link


@pytest.mark.parametrize(
    ("role", "words"),
    [
        ("set_point", "not read back"),
        ("command_follow_link", "does not show that it follows its link"),
    ],
)
def test_what_is_answered_and_not_done_is_not_proved(role: str, words: str) -> None:
    """Safety rule R12: an answer proves little."""
    unit = Unit()
    unit.obeys = lambda asked: asked != role
    found = proved(unit)
    assert role not in found.proved
    assert words in found.words


def test_what_is_refused_or_not_read_is_said() -> None:
    """With the unit's own reason; without travel nothing is tried at all."""
    unit = Unit()
    unit.refuses = frozenset({"set_point", "command_follow_link"})
    assert "selector in LOCAL" in proved(unit).words
    blind = Unit()
    blind.travel = None
    assert not proved(blind).all_proved
    assert blind.commands == []


def test_only_a_unit_with_all_of_it_takes_set_points() -> None:
    """An on/off unit has none."""
    assert has_set_point(FCV)
    assert not has_set_point(SHEET)
    assert raw_of_share(FCV, 0.5) == 5000
