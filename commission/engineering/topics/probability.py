"""
Average probability of failure on demand, from numbers that bear names.

For who does the safety calculation: never a claim, no integrity level, never in the as-left report (safety rule R26).
"""

import msgspec

from commission.engineering.expectation import Gathering, Topic
from commission.engineering.reliability import FinalElement, Given
from commission.engineering.unit import Unit
from commission.sheet.owner import GivenNumber, Reliability

TITLE = "Final element only, a help and no claim"


def probability(unit: Unit) -> Topic:
    """PFDavg with and without the partial test, each input with who gave it."""
    found = Gathering(TITLE)
    given = unit.sheet.reliability
    if given is None:
        found.lack("reliability", "average probability of failure on demand of the final element")
        return found.topic
    try:
        element = element_of(given)
    except ValueError as error:
        found.lack("reliability", str(error))
        return found.topic
    origin = _origin(given)
    found.add("pfd.full", "PFDavg with full tests only", without_partial(element).pfd_average(), "", origin)
    if element.partial_coverage is not None:
        found.add("pfd.partial", "PFDavg with partial tests too", element.pfd_average(), "", origin)
    return found.topic


def element_of(given: Reliability) -> FinalElement:
    """
    The calculation's inputs.

    Raises:
        ValueError: an input bears no name, or contradicts another.
    """
    return FinalElement(
        undetected_per_h=_given(given.undetected_per_h),
        full_interval_h=_given(given.full_interval_h),
        full_coverage=_given(given.full_coverage),
        life_h=_given(given.life_h),
        partial_interval_h=_named(given.partial_interval_h),
        partial_coverage=_named(given.partial_coverage),
        detected_per_h=_named(given.detected_per_h),
        repair_h=_named(given.repair_h),
    )


def without_partial(element: FinalElement) -> FinalElement:
    """The same without partial-stroke tests."""
    return msgspec.structs.replace(element, partial_interval_h=None, partial_coverage=None)


def _named(number: GivenNumber | None) -> Given | None:
    return None if number is None else _given(number)


def _given(number: GivenNumber) -> Given:
    return Given(number.value, number.by)


def _origin(given: Reliability) -> str:
    parts = [
        f"{name.replace('_', ' ')} {number.value:g} ({number.by})"
        for name in Reliability.__struct_fields__
        if (number := getattr(given, name)) is not None
    ]
    return "; ".join(parts)
