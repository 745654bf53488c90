"""Tests of the temporary list and the deviations."""

from collections.abc import Mapping

import pytest

from commission.job import bodies
from commission.job.lists import Deviation, Temporary, fold_deviations, fold_temporary
from tests.energy.way import OLLIE, TESS
from tests.job.told import seen

ADDED = bodies.TemporaryAdded(id="T1", kind="setting", what="run limit raised", where="unit", why="bleeding")
REMOVED = bodies.TemporaryRemoved(id="T1", second_person=OLLIE, proved_by="read back 300 s")
RAISED = bodies.DeviationRaised(id="D1", step="K1-close", required="8.0 s", found="11.2 s")
ACCEPTED = bodies.DeviationAccepted(id="D1", reason="until the outage")


def temporary(*happened: bodies.Body) -> Mapping[str, Temporary]:
    """The temporary list after these events."""
    items: Mapping[str, Temporary] = {}
    for n, body in enumerate(happened, start=1):
        items = fold_temporary(items, seen(body, n))
    return items


def deviations(*happened: bodies.Body) -> Mapping[str, Deviation]:
    """The deviations after these events."""
    items: Mapping[str, Deviation] = {}
    for n, body in enumerate(happened, start=1):
        items = fold_deviations(items, seen(body, n))
    return items


def test_a_temporary_thing_is_on_until_it_is_off() -> None:
    """On since when and by whom; off with second person and proof; never deleted."""
    item = temporary(ADDED)["T1"]
    assert (item.is_on, item.by, item.on_utc) == (True, TESS, seen(ADDED, 1).event.at_utc)
    item = temporary(ADDED, REMOVED)["T1"]
    assert (item.is_on, item.removed, item.off_by) == (False, REMOVED, TESS)


@pytest.mark.parametrize("before", [(ADDED,), (ADDED, REMOVED)], ids=["on", "off again"])
def test_an_id_is_used_once(before: tuple[bodies.Body, ...]) -> None:
    """A second thing under the same id would hide the first, which may still be on."""
    with pytest.raises(ValueError, match="T1 is on the temporary list already"):
        temporary(*before, ADDED)


def test_only_what_is_on_comes_off() -> None:
    """What was never on, and what is off, cannot be taken off."""
    with pytest.raises(ValueError, match="T1 is not on the temporary list"):
        temporary(REMOVED)
    with pytest.raises(ValueError, match="T1 is off the temporary list already"):
        temporary(ADDED, REMOVED, REMOVED)


@pytest.mark.parametrize("second", ["", "  ", TESS, f" {TESS} "], ids=repr)
def test_a_second_person_sees_it_off(second: str) -> None:
    """Nobody, and the same person again, is no second person."""
    with pytest.raises(ValueError, match="when a second person has seen it"):
        temporary(ADDED, bodies.TemporaryRemoved(id="T1", second_person=second, proved_by="seen"))


def test_a_deviation_stays_and_is_accepted() -> None:
    """Acceptance is added beside it, with who accepted."""
    assert deviations(RAISED)["D1"].accepted is None
    item = deviations(RAISED, ACCEPTED)["D1"]
    assert (item.raised, item.accepted, item.accepted_by) == (RAISED, ACCEPTED, TESS)


def test_a_deviation_is_raised_once_and_accepted_only_if_raised() -> None:
    """An id is not used twice; what was not raised cannot be accepted."""
    with pytest.raises(ValueError, match="D1 was raised already"):
        deviations(RAISED, RAISED)
    with pytest.raises(KeyError):
        deviations(ACCEPTED)


def test_other_events_leave_both_lists_alone() -> None:
    """The folds give the very same mappings back."""
    things, found = temporary(ADDED), deviations(RAISED)
    assert fold_temporary(things, seen(RAISED)) is things
    assert fold_deviations(found, seen(ADDED)) is found
