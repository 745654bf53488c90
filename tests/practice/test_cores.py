"""What planted wiring faults make of the bits."""

import msgspec
import pytest

from commission.practice.condition import HEALTHY
from commission.practice.cores import Cores
from tests.supervise.rig import demo_sheet

SHEET = demo_sheet()
REST = {"remote": True, "low_fluid": False, "esd_healthy": True}


@pytest.mark.parametrize(
    ("fault", "contacts", "seen"),
    [
        ({}, {"low_fluid": True}, {"low_fluid": True}),
        ({"crossed_contacts": (("remote", "low_fluid"),)}, {"low_fluid": True}, {"remote": True, "low_fluid": True}),
        ({"crossed_contacts": (("remote", "low_fluid"),)}, {"remote": False}, {"remote": False, "low_fluid": False}),
        ({"inverted_contacts": ("low_fluid",)}, {}, {"low_fluid": True}),
        ({"shared_commons": (("low_fluid", "esd_healthy"),)}, {"low_fluid": True}, {"esd_healthy": False}),
        ({"dead_contacts": ("remote", "low_fluid")}, {}, {"remote": False, "low_fluid": True}),
    ],
)
def test_a_fault_shows_in_its_own_bits_only(
    fault: dict[str, object], contacts: dict[str, bool], seen: dict[str, bool]
) -> None:
    """Bits that the fault does not touch stay; a blown fuse is a 0 on the wire, whatever 0 means."""
    cores = Cores(SHEET, msgspec.structs.replace(HEALTHY, **fault), 1)
    cores.seen(REST, 0.0)
    assert cores.seen({**REST, **contacts}, 1.0) == {**REST, **contacts, **seen}


def test_a_bouncing_contact_settles() -> None:
    """It bounces for a second after a change, and repeats by its seed."""
    condition = msgspec.structs.replace(HEALTHY, bouncing_contacts=("low_fluid",))
    runs = []
    for _ in range(2):
        cores = Cores(SHEET, condition, 7)
        cores.seen(REST, 0.0)
        runs.append([cores.seen({**REST, "low_fluid": True}, step * 0.02)["low_fluid"] for step in range(1, 100)])
    assert runs[0] == runs[1]
    assert not all(runs[0][:50])
    assert all(runs[0][51:])
