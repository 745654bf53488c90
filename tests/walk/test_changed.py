"""Somebody changed something: what is a deviation, what is only said, and what becomes void."""

from pathlib import Path

import msgspec
import pytest

from commission.checklist import load_checklist
from commission.content import checklists_folder
from commission.job.bodies import Adjusted, DeviationRaised, UnitSurveyed
from commission.job.state import Job
from commission.job.survey import Surveyed
from commission.sheet import ROLES, RoleKind, load_sheet
from commission.walk.changed import COUNTERS, SELECTOR, VOIDED_BY, changes, looked, roles_of
from tests.report.jobs import Visit

UNITS = sorted((checklists_folder() / "units").glob("*.toml"))
BEFORE = {
    "run_limit": 300.0,
    "trip_low": 5.0e6,
    "partial_guard_travel": 0.2,
    "starts_total": 812.0,
    "remote": 1.0,
}


def job(*known: str) -> Job:
    """A job whose last look saw `BEFORE`; `known` is what somebody recorded since."""
    surveyed = Surveyed(values=BEFORE, at_utc="2026-11-24T12:41:00+00:00", known=known)
    return msgspec.structs.replace(Visit().job, surveyed=surveyed)


def test_nothing_changed_is_nothing() -> None:
    """The look itself is recorded, and no word about it."""
    assert looked(job(), "on entering live", BEFORE) == (UnitSurveyed(when="on entering live", values=BEFORE),)


def test_first_look_has_nothing_to_compare_with() -> None:
    """What the settings should be is step Q1's to ask."""
    assert changes(Visit().job, BEFORE) == ()


@pytest.mark.parametrize(
    ("role", "now", "words"),
    [
        ("run_limit", 900.0, "run-time limit 300 s to 900 s"),
        ("trip_low", 4.5e6, "low trip 50 bar to 45 bar"),
        ("partial_guard_travel", 0.25, "partial stroke guard, travel 20 % to 25 %"),
    ],
)
def test_setting_that_nobody_recorded_is_a_deviation_of_class_a(role: str, now: float, words: str) -> None:
    """In the units of the trade, with when it was last seen otherwise."""
    survey, *rest = looked(job(), "on entering live", {**BEFORE, role: now})
    assert isinstance(survey, UnitSurveyed)
    assert survey.changed == (words,)
    (raised,) = [body for body in rest if isinstance(body, DeviationRaised)]
    assert (raised.classed, raised.required) == ("A", "as it stood at 12:41 UTC")
    assert words in raised.found


def test_setting_that_somebody_recorded_is_only_said() -> None:
    """A lowered setting on the temporary list is no surprise."""
    survey, *rest = looked(
        job("T2 run limit 60 s, by T. Placeholder"), "on leaving live", {**BEFORE, "run_limit": 60.0}
    )
    assert isinstance(survey, UnitSurveyed)
    assert survey.changed == ("run-time limit 300 s to 60 s",)
    assert not rest


@pytest.mark.parametrize(("now", "deviates"), [(815.0, False), (811.0, True)])
def test_counter_goes_on_and_never_back(now: float, *, deviates: bool) -> None:
    """A pump that topped up is said; a counter that went back is another unit's, or was reset."""
    survey, *rest = looked(job(), "on entering live", {**BEFORE, "starts_total": now})
    assert isinstance(survey, UnitSurveyed)
    assert "motor starts, total" in survey.changed[0]
    assert bool(rest) is deviates
    assert ("went back" in survey.changed[0]) is deviates


def test_selector_is_said_and_is_no_deviation() -> None:
    """It was turned for the lockout."""
    survey, *rest = looked(job(), "on entering live", {**BEFORE, "remote": 0.0})
    assert isinstance(survey, UnitSurveyed)
    assert survey.changed == ("selector remote to local or off",)
    assert not rest


def test_several_changes_are_deviations_of_their_own() -> None:
    """Each has its own number."""
    bodies = looked(job(), "on entering live", {**BEFORE, "run_limit": 900.0, "trip_low": 4.5e6})
    raised = [body.id for body in bodies if isinstance(body, DeviationRaised)]
    assert raised == ["D1", "D2"]


def test_every_setting_has_its_line_in_the_table_of_what_becomes_void() -> None:
    """A setting role without one, or a line that the checklists lack, would void nothing."""
    settings = {name for name, role in ROLES.items() if role.kind is RoleKind.SETTING}
    assert set(VOIDED_BY) == settings
    for name in ("commissioning.toml", "retest.toml"):
        assert set(VOIDED_BY.values()) <= set(load_checklist(checklists_folder() / name)[0].voids)


def test_change_of_a_setting_voids_its_own_tests() -> None:
    """The adjustment names the line of the table, where this checklist has it."""
    whole = msgspec.structs.replace(job(), checklist=load_checklist(checklists_folder() / "commissioning.toml")[0])
    (adjusted,) = [
        body for body in looked(whole, "on entering live", {**BEFORE, "run_limit": 900.0}) if isinstance(body, Adjusted)
    ]
    assert adjusted.touched == "setting-run-limit"
    assert "N2" in whole.checklist.voids[adjusted.touched].voids


@pytest.mark.parametrize("path", UNITS, ids=lambda path: path.stem)
def test_what_is_looked_at_is_what_the_unit_has(path: Path) -> None:
    """Settings, counters and selector of this sheet, and nothing that reading would change."""
    sheet, _ = load_sheet(path)
    roles = roles_of(sheet)
    assert set(roles) <= {point.role for point in sheet.points if not point.read_clears}
    assert all(ROLES[role].kind is RoleKind.SETTING or role in (*COUNTERS, *SELECTOR) for role in roles)
