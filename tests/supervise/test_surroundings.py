"""What the supervisor needs around it: the product's own link, sampler and open job fit, and so does the test rig."""

import inspect

import pytest

from commission.link.sampling import Sampler
from commission.supervise.linked_unit import LinkedUnit
from commission.supervise.surroundings import Ledger, People, SampleSource, Unit
from commission.visit import OpenJob
from tests.supervise.rig import FileLedger, Folk


@pytest.mark.parametrize(
    ("protocol", "classes"),
    [
        (SampleSource, (Sampler,)),
        (Unit, (LinkedUnit,)),
        (Ledger, (OpenJob, FileLedger)),
        (People, (Folk,)),
    ],
)
def test_every_surrounding_has_what_the_supervisor_calls(protocol: type, classes: tuple[type, ...]) -> None:
    """Each member of the protocol is there, with the same parameters, and awaited where the protocol awaits it."""
    members = [name for name in vars(protocol) if not name.startswith("_")]
    assert members
    for found in classes:
        for name in members:
            wanted, given = getattr(protocol, name), getattr(found, name)
            if isinstance(wanted, property):
                assert isinstance(given, property)
                continue
            assert list(inspect.signature(given).parameters) == list(inspect.signature(wanted).parameters)
            assert inspect.iscoroutinefunction(given) == inspect.iscoroutinefunction(wanted)
