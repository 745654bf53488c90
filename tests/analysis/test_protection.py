"""Protections as data, and the figures of what was seen of one."""

import msgspec
import pytest

from commission.analysis.protection import (
    PROTECTIONS,
    RESTARTS,
    TIME,
    NothingActed,
    ProtectionSeen,
    protection_figures,
    protection_limits,
    setting_of,
)
from commission.sheet import ROLES
from commission.sheet.decode import Reading, Readings
from tests.sheet.common_practice import run_180_s_six_starts_in_15_min
from tests.sheet.xv import xv_1101

SHEET = xv_1101()


def samples(last_s: float, period_s: float = 0.1, **bits: tuple[tuple[float, float], ...]) -> tuple[Readings, ...]:
    """Bits that are on from and to these times."""
    found = []
    for number in range(round(last_s / period_s)):
        at_s = number * period_s
        by_role = {
            role: Reading(float(any(on <= at_s < off for on, off in times)), round(at_s * 1e9), 2_000_000)
            for role, times in bits.items()
        }
        found.append(Readings(number + 1, round(at_s * 1e9), by_role))
    return tuple(found)


def seen(which: str, before: tuple[Readings, ...], **more: object) -> ProtectionSeen:
    """Acted, unless told otherwise."""
    known = ProtectionSeen(test="N 1", which=which, cause="caused", before=before, acted=True)
    return msgspec.structs.replace(known, **more)


def test_every_protection_names_points_that_exist_and_says_what_to_do() -> None:
    """And how the cause is taken away."""
    for name, spec in PROTECTIONS.items():
        assert spec.alarm in ROLES, name
        assert not spec.begins or spec.begins in ROLES
        assert spec.cause
        assert spec.back


@pytest.mark.parametrize(
    ("which", "limits"),
    [
        ("run_limit", "294 to 306"),
        ("starts", "6 to 6"),
        ("travel_open", "235.2 to 244.8"),
        ("contact_lost", "7 to 13"),
    ],
)
def test_limits_are_the_sheets_settings_within_a_second_or_two_percent(which: str, limits: str) -> None:
    """Common practice, no source."""
    assert str(protection_limits(SHEET, which)) == limits


def test_the_second_sheet_has_its_own() -> None:
    """180 s and six in 15 minutes (common practice, no source)."""
    sheet = run_180_s_six_starts_in_15_min()
    assert setting_of(sheet, "run_limit") == 180.0
    assert setting_of(sheet, "starts") == 6.0
    assert str(protection_limits(sheet, "run_limit")) == "176.4 to 183.6"
    assert sheet.protections.starts_window_min == 15.0


def test_what_acts_at_once_has_no_limits() -> None:
    """Low fluid."""
    assert protection_limits(SHEET, "low_fluid") is None


def test_a_time_runs_from_the_last_start_before_the_alarm() -> None:
    """An earlier run of the motor does not count."""
    before = samples(320.0, motor_running=((1.0, 3.0), (10.0, 310.0)), alarm_run_time=((310.0, 999.0),))
    (figure,) = protection_figures(seen("run_limit", before), SHEET)
    assert figure.name == TIME
    assert figure.unrounded == pytest.approx(300.0, abs=0.15)
    assert 0.07 < float(figure.expanded_uncertainty) < 0.1
    assert figure.budget


def test_starts_are_counted_up_to_the_refused_one() -> None:
    """With how long they took, and what the sheet allows."""
    runs = tuple((10.0 * n, 10.0 * n + 3.0) for n in range(1, 7))
    before = samples(80.0, motor_running=runs, alarm_starts=((70.0, 99.0),))
    (figure,) = protection_figures(seen("starts", before), SHEET)
    assert (figure.name, figure.value, figure.expanded_uncertainty) == (RESTARTS, "6", "0")
    assert "6 starts in 50 s" in figure.note


def test_without_its_beginning_or_without_an_alarm_there_is_no_time() -> None:
    """With the reason."""
    with pytest.raises(NothingActed, match="beginning"):
        protection_figures(
            seen("run_limit", samples(9.0, motor_running=((0.0, 9.0),), alarm_run_time=((5.0, 9.0),))), SHEET
        )
    with pytest.raises(NothingActed, match="did not act"):
        protection_figures(seen("run_limit", samples(9.0, motor_running=((1.0, 9.0),), alarm_run_time=())), SHEET)
    with pytest.raises(NothingActed, match="not known"):
        protection_figures(seen("contact_lost", ()), SHEET)


def test_the_control_rooms_log_carries_its_seconds_and_the_voice() -> None:
    """Half a second either way, and a second for the offset."""
    before = samples(3.0, alarm_relay=((0.0, 9.0),))
    (figure,) = protection_figures(seen("contact_lost", before, log_s=10.4), SHEET)
    assert 1.0 < float(figure.expanded_uncertainty) < 1.6
    assert "log" in figure.note


def test_faults_stand_once_and_before_what_was_seen() -> None:
    """Not acted is a fault, unless the run ended for a reason."""
    assert seen("supply", (), acted=False).faults == ("it did not act",)
    assert seen("supply", (), acted=False, why="no bench supply").verdict == (None, "no bench supply")
    failed = seen("supply", (), wrong=("the alarm relay stayed healthy",))
    assert failed.verdict == (False, "the alarm relay stayed healthy")
    assert failed.proved().points[0].words == "the alarm relay stayed healthy"


def test_what_was_seen_is_one_line() -> None:
    """Panel, trial, clocks, return."""
    known = seen("low_fluid", (), indication="ALARM lit", tried="refused", late_s=-0.6, returned="went with its cause")
    assert known.words == "panel: ALARM lit; tried: refused; their time -1 s of ours; went with its cause"
    assert known.verdict[0] is True
