"""Tests of the average probability of failure on demand as it is told (safety rule R26)."""

import msgspec

from commission.engineering.topics.probability import probability
from commission.engineering.unit import Unit
from commission.sheet.owner import GivenNumber
from tests.engineering.units import sheet_of, unit_of


def test_every_input_bears_its_name_and_nothing_is_claimed() -> None:
    """0.0217 with full tests, 0.0148 with partial ones; who gave what; no integrity level anywhere."""
    topic = probability(unit_of("xv-1101"))
    assert [figure.text for figure in topic.expected] == ["0.0217", "0.0148"]
    assert all(figure.origin.count("P. Exampler") == 6 for figure in topic.expected)
    assert "no claim" in topic.title
    assert "SIL" not in str(topic)
    assert "integrity" not in str(topic)


def test_contradicting_or_nameless_inputs_are_lacks() -> None:
    """A partial test that reveals all, a number that nobody stands behind."""
    sheet = sheet_of("xv-1101")
    assert sheet.reliability is not None
    for change in ({"partial_coverage": GivenNumber(value=0.95, by="x")}, {"life_h": GivenNumber(value=1e5, by="")}):
        odd = msgspec.structs.replace(sheet, reliability=msgspec.structs.replace(sheet.reliability, **change))
        topic = probability(Unit(odd))
        assert topic.expected == ()
        assert [lack.field for lack in topic.lacks] == ["reliability"]
