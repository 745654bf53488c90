"""What a fail-safe stroke comes to: its time, what it is worth, and what fails it whatever the time says."""

import random

import msgspec
import pytest

from commission.analysis.fail_safe import (
    HELD,
    Cause,
    FailSafeEnd,
    FailSafeObserved,
    Proof,
    caused_at,
    expected_s,
    fail_safe_figures,
    faults,
)
from commission.analysis.outside_times import NAME, OutsideTimes, timer_of
from commission.analysis.timing import NoMotion
from commission.sample import Silence
from commission.sheet import End, load_sheet
from commission.sheet.decode import Reading, Readings
from tests.analysis.seen import SHEET, UNIT
from tests.procedures.strokes import Line, Stroke, samples

CLOSING = Stroke(opening=False, command_s=3.0, moving_s=7.6, bend=0.1, last_s=16.0)
FCV = load_sheet(UNIT.parent / "fcv-2204.toml")[0]


def tripped(stroke: Stroke, seed: int, line: Line = Line()) -> tuple[Readings, ...]:  # noqa: B008  # frozen
    """A stroke that the ESD caused: its bit drops with the unit's scan after the loop was opened."""
    found = []
    for item in samples(stroke, line, random.Random(seed)):
        reading = item.by_role["esd_healthy"]
        seen_s = reading.at_ns / 1e9 - line.scan_s / 2
        bit = msgspec.structs.replace(reading, value=float(seen_s < stroke.command_s))
        found.append(msgspec.structs.replace(item, by_role={**item.by_role, "esd_healthy": bit}))
    return tuple(found)


def observed(seen: tuple[Readings | Silence, ...], **other: object) -> FailSafeObserved:
    """An ESD stroke seen to its end."""
    plain = FailSafeObserved(
        test="K5 ESD 1",
        cause=Cause.ESD,
        by="push button",
        goes_to=End.CLOSED,
        opposite=False,
        pump_off=False,
        seen=seen,
        ended=FailSafeEnd.DONE,
    )
    return msgspec.structs.replace(plain, **other)


def gone(stroke: Stroke, silent_from_s: float, back_s: float) -> tuple[Readings | Silence, ...]:
    """The stroke as seen by a link that is silent meanwhile."""
    items: list[Readings | Silence] = []
    for item in samples(msgspec.structs.replace(stroke, last_s=60.0), Line(), random.Random(3)):
        if silent_from_s < item.at_ns / 1e9 < back_s:
            items.append(Silence(item.number, items[-1].at_ns, item.at_ns, "no answer"))
        else:
            items.append(item)
    return tuple(items)


def test_the_response_of_an_esd_runs_from_its_bit_and_holds_the_truth() -> None:
    """In at least 93.5 % of 400 strokes on a line of 20 polls a second."""
    held = 0
    for seed in range(400):
        found = observed(tripped(CLOSING, seed))
        first = fail_safe_figures(found, SHEET)[0]
        assert first.name == "response_time"
        assert not first.lower_bound_only
        truth_s = CLOSING.home_s - CLOSING.command_s
        held += abs(float(first.value) - truth_s) <= float(first.expanded_uncertainty)
    assert held / 400 >= 0.935


def test_r19_without_a_cause_in_the_samples_it_is_at_least() -> None:
    """A supply shows no bit: the time is from first motion, can fail an upper limit, never passes."""
    found = observed(tripped(CLOSING, 1), cause=Cause.CONTROL)
    assert caused_at(found, SHEET) is None
    assert fail_safe_figures(found, SHEET)[0].lower_bound_only


def test_r19_a_typed_time_goes_before_one_that_is_only_at_least() -> None:
    """And both stand in the record."""
    outside = OutsideTimes(timer=timer_of("recorder 0.02 s"), begun_s=3.0, home_s=11.1)
    found = observed(tripped(CLOSING, 1), cause=Cause.CONTROL, outside=outside)
    names = [figure.name for figure in fail_safe_figures(found, SHEET)]
    assert names[:2] == [NAME, "response_time"]
    assert found.timed_by == "independent recorder, 0.02 s"
    assert found.commanded_by == "control supply: push button"


def test_r19_a_gap_in_the_way_says_between_which_sights_it_came_home() -> None:
    """The link lost at half travel and back when all is over: the figure says so."""
    found = observed(gone(CLOSING, 7.0, 40.0), cause=Cause.CONTROL)
    first = fail_safe_figures(found, SHEET)[0]
    assert "between last seen moving and first seen home" in first.note
    assert first.lower_bound_only


def test_r19_of_a_stroke_in_one_silence_the_samples_say_nothing() -> None:
    """No figure at all is better than 0 ± 20 s."""
    found = observed(gone(CLOSING, 2.9, 40.0), cause=Cause.ALL)
    assert not [figure for figure in fail_safe_figures(found, SHEET) if "time" in figure.name]


def test_a_valve_that_stays_is_judged_by_how_far_it_moved() -> None:
    """And a loss of signal by when it was alarmed."""
    items = []
    for number in range(200):
        at_ns = number * 50_000_000
        values = {
            "travel": 0.5 + (0.002 if number > 100 else 0.0),
            "command_current": 0.012 if number < 40 else 0.0001,
            "alarm_signal_lost": float(number >= 82),
        }
        items.append(Readings(number, at_ns, {role: Reading(value, at_ns, 0) for role, value in values.items()}))
    found = observed(tuple(items), cause=Cause.SIGNAL, goes_to=None)
    figures = {figure.name: figure for figure in fail_safe_figures(found, FCV)}
    assert float(figures[HELD].value) == pytest.approx(0.002)
    assert float(figures["alarm_delay"].value) == pytest.approx(2.1, abs=0.06)
    assert found.timed_by == "watched over the link"
    assert fail_safe_figures(observed((), goes_to=None), FCV) == ()


@pytest.mark.parametrize("ended", [FailSafeEnd.NOT_READY, FailSafeEnd.NOT_CAUSED])
def test_what_was_not_caused_is_no_test(ended: FailSafeEnd) -> None:
    """With the reason; and nothing of it is a fault of the unit."""
    found = observed((), ended=ended, why="cannot: the key is lost")
    with pytest.raises(NoMotion, match="key is lost"):
        fail_safe_figures(found, SHEET)
    assert faults(found, SHEET) == ()


@pytest.mark.parametrize(
    ("proof", "wrong"),
    [
        (Proof(act="reset", watched_s=5.0, moved=0.002), ""),
        (Proof(act="reset", watched_s=5.0, moved=0.08), "reset: the valve moved by 8.0 %"),
        (Proof(act="power back", watched_s=5.0, limit_dropped=True), "power back: the valve moved"),
        (Proof(act="open", watched_s=5.0, said="obeyed", wanted="refused"), "open: obeyed, where refused was expected"),
        (Proof(act="reset", watched_s=5.0, fault="the trip stands"), "reset: the trip stands"),
    ],
)
def test_what_follows_an_act_is_right_or_said(proof: Proof, wrong: str) -> None:
    """Nothing may move, what should be refused is refused; the words go into the record either way."""
    assert proof.wrong == wrong
    assert proof.words.startswith(proof.act)
    assert faults(observed(tripped(CLOSING, 1), proofs=(proof,)), SHEET) == ((wrong,) if wrong else ())


def test_a_stem_elsewhere_fails_it_whatever_the_limits_say() -> None:
    """Safety rule R20: the actuator is home, the stem is not."""
    (fault,) = faults(observed(tripped(CLOSING, 1), stem="between"), SHEET)
    assert fault == "the stem mark shows between, not closed"


def test_a_stop_on_the_way_is_found_and_an_even_stroke_is_not_accused() -> None:
    """Guide K5: no stop midway."""
    assert faults(observed(tripped(CLOSING, 5), stem="closed"), SHEET) == ()
    items = list(tripped(CLOSING, 5))
    middle = next(place for place, item in enumerate(items) if (item.value("travel") or 0) < 0.5)
    hung = items[middle]
    late = [
        msgspec.structs.replace(
            item,
            at_ns=item.at_ns + 3_000_000_000,
            by_role={n: Reading(r.value, r.at_ns + 3_000_000_000, r.half_width_ns) for n, r in item.by_role.items()},
        )
        for item in items[middle:]
    ]
    still = [
        msgspec.structs.replace(
            hung,
            by_role={n: Reading(r.value, r.at_ns + step_ns, r.half_width_ns) for n, r in hung.by_role.items()},
        )
        for step_ns in range(0, 3_000_000_000, 50_000_000)
    ]
    (fault,) = faults(observed((*items[:middle], *still, *late)), SHEET)
    assert "stopped on the way, at 5" in fault


def test_not_home_and_a_running_pump_are_faults() -> None:
    """The unit had its time; and what was to be done by stored energy alone was not."""
    late = observed(tripped(CLOSING, 1), ended=FailSafeEnd.NOT_HOME, why="not closed in 25 s", stem="between")
    assert "not closed in 25 s" in faults(late, SHEET)
    opened = tuple(samples(Stroke(), Line(), random.Random(2)))
    assert any("pump ran" in fault for fault in faults(observed(opened, pump_off=True), SHEET))


def test_the_expected_time_is_that_of_the_emergency_where_there_is_one() -> None:
    """A double-acting unit's own limits are those of its pump."""
    assert FCV.strokes.emergency is not None
    assert expected_s(FCV, End.CLOSED) == FCV.strokes.emergency.expected_s
    assert expected_s(SHEET, End.OPEN) == SHEET.strokes.opening.expected_s
