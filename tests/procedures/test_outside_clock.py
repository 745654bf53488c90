"""Times from outside as they are typed: read, asked again, brought to one clock."""

from collections.abc import Generator
from datetime import UTC, datetime

import pytest

from commission.analysis.film_clock import reading_at
from commission.analysis.outside_times import OutsideTimes
from commission.procedures.fail_safe_plan import fail_safe_plan
from commission.procedures.onlooker import Onlooker
from commission.procedures.outside_clock import home_by_key, typed_times
from commission.procedures.requests import Answer, Ask, Reply, Request
from commission.procedures.wiring_control_room import CLOCK, OFFSET
from tests.analysis.seen import SHEET
from tests.procedures.playbook import Playbook
from tests.procedures.test_onlooker import seen

AT_0 = datetime(2026, 5, 12, 6, 40, tzinfo=UTC)
CLOCKS = {CLOCK: AT_0.isoformat(), OFFSET: "7"}


def typed(
    timed_by: str, *said: str, begins: str = "cause", clocks: dict[str, str] | None = None
) -> OutsideTimes | None:
    """What comes of typing this, one answer after another."""
    arguments = {"cause": "ESD", "timed_by": timed_by, "begins": begins}
    plan = fail_safe_plan(SHEET, arguments)
    procedure = typed_times(plan, {**arguments, **(CLOCKS if clocks is None else clocks)})
    answers = iter(said)
    try:
        asked = next(procedure)
        while True:
            name = asked.id if isinstance(asked, Ask) else ""
            asked = procedure.send(Answer(name, next(answers), "T.", 0) if isinstance(asked, Ask) else None)
    except StopIteration as done:
        assert next(answers, None) is None, "not everything was asked for"
        found: OutsideTimes | None = done.value
        return found


def lasts_s(times: OutsideTimes | None) -> float:
    """From one to the other."""
    assert times is not None
    assert times.begun_s is not None
    return times.home_s - times.begun_s


@pytest.mark.parametrize(
    ("timed_by", "begun", "home", "s"),
    [
        ("recorder 0.02 s", "12.34", "20.54 s", 8.2),
        ("recorder 0.02 s", "14:02:11,34", "14:02:19.54", 8.2),
        ("log 1 s", "14:02:11", "14:02:19", 8.0),
        ("log 1 s", "23:59:56", "00:00:04", 8.0),
        ("film 30 fps", str(reading_at(267_350_000_000)), str(reading_at(275_450_000_000)), 8.1),
        ("film 30 fps", str(reading_at(5_996_500_000_000)), str(reading_at(6_004_600_000_000)), 8.1),
    ],
)
def test_two_readings_of_one_clock(timed_by: str, begun: str, home: str, s: float) -> None:
    """Over midnight, and over the film clock's own end."""
    assert lasts_s(typed(timed_by, begun, home)) == pytest.approx(s)


def test_a_misread_frame_is_asked_again_at_once() -> None:
    """Its check digits do not fit; the right one then counts."""
    first, second = reading_at(267_350_000_000), reading_at(275_450_000_000)
    wrong = str(first).replace("35", "85", 1)
    assert lasts_s(typed("film 30 fps", wrong, str(first), str(second))) == pytest.approx(8.1)


def test_nonsense_and_a_home_before_the_beginning_are_asked_again() -> None:
    """With what was expected."""
    times = typed("recorder 0.02 s", "soon", "20.0", "12.0", "12.0", "20.2")
    assert lasts_s(times) == pytest.approx(8.2)


@pytest.mark.parametrize("said", [("lost",), ("12.0", "lost")])
def test_readings_that_were_lost_leave_the_samples(said: tuple[str, ...]) -> None:
    """Nobody invents one."""
    assert typed("recorder 0.02 s", *said) is None


def test_nothing_is_asked_where_samples_or_keys_time_it() -> None:
    """The keys were asked for in the stroke itself."""
    assert typed("link") is None
    assert typed("key") is None


def test_the_log_alone_with_the_units_own_beginning() -> None:
    """Their 06:40:13 is 06:40:20 here: 20 s of unit time."""
    times = typed("log 1 s", "link", "06:40:13")
    assert times is not None
    assert times.begun_s is None
    assert times.home_s == pytest.approx(20.0)
    asked_again = typed("log 1 s", "link", "06:40:13", "06:40:05", "06:40:13", clocks={})
    assert lasts_s(asked_again) == 8.0


def test_a_beginning_by_motion_stays_marked() -> None:
    """It is at least, later."""
    times = typed("film 30 fps", str(reading_at(10**9)), str(reading_at(9 * 10**9)), begins="first motion only")
    assert times is not None
    assert times.from_motion


def test_the_second_key_is_waited_for_with_samples_going_on() -> None:
    """And given up after twice the longest stroke."""
    plan = fail_safe_plan(SHEET, {"cause": "ESD", "timed_by": "key"})
    book = Playbook(home_by_key(Onlooker(), plan, 10**9))
    book.feed([seen(step / 2, 0.5) for step in range(4)])
    book.feed([Answer("home", "k", "T.", 9_200_000_000)])
    assert lasts_s(book.returned()) == pytest.approx(8.2)
    late: list[OutsideTimes | None] = []

    def nobody() -> Generator[Request, Reply, str]:
        late.append((yield from home_by_key(Onlooker(), plan, 10**9)))
        return "given up"

    nobody_comes = Playbook(nobody())
    nobody_comes.feed([seen(float(step), 0.5) for step in range(200)])
    assert nobody_comes.returned() == "given up"
    assert late == [None]
