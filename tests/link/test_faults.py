"""The sentences that faults become."""

import msgspec
import pytest

from commission.link import faults
from commission.link.faults import LinkError, NoAnswer, UnitRefused, explain
from commission.sample import Table
from tests.link.lines import demo_sheet


def test_off_by_one_is_asked_about_with_the_lists_own_number() -> None:
    """A missing address is named as the list counts, and the other way of counting is asked about."""
    sheet = demo_sheet()
    assert (
        explain(sheet, UnitRefused(2, Table.INPUT, 312, 1))
        == "the unit has no input register 312: does its list count from 1?"
    )
    from_one = msgspec.structs.replace(sheet, link=msgspec.structs.replace(sheet.link, counts_from=1))
    assert (
        explain(from_one, UnitRefused(2, Table.INPUT, 311, 1))
        == "the unit has no input register 312: does its list count from 0?"
    )


def test_points_are_named_by_their_role() -> None:
    """Up to three points are named, of more the first and the last."""
    sheet = demo_sheet()
    assert "input registers 10 to 13 (travel, cylinder pressure)" in explain(sheet, UnitRefused(2, Table.INPUT, 10, 4))
    assert "(open limit … ESD loop)" in explain(sheet, UnitRefused(2, Table.DISCRETE, 0, 8))


@pytest.mark.parametrize("code", [1, 2, 3, 4, 5, 6, 8, 10, 11, 77])
def test_every_exception_code_is_a_sentence(code: int) -> None:
    """Each code of the protocol, and one it does not have, says what the unit did."""
    sentence = explain(demo_sheet(), UnitRefused(code, Table.HOLDING, 20, 1))
    assert "holding register 20 (high trip)" in sentence
    assert str(code) in sentence or code == 2
    assert str(code) in str(UnitRefused(code))


def test_other_faults_speak_for_themselves() -> None:
    """A fault without an address is its own sentence."""
    assert explain(demo_sheet(), NoAnswer("no answer within 0.10 s")) == "no answer within 0.10 s"


def test_local_and_remote_faults_differ_in_type() -> None:
    """Every fault of the link is either ours or the wire's, never both."""
    kinds = [kind for kind in vars(faults).values() if isinstance(kind, type) and issubclass(kind, LinkError)]
    leaves = [kind for kind in kinds if kind not in (LinkError, faults.LocalFault, faults.WireFault)]
    assert len(leaves) >= 10
    for kind in leaves:
        assert issubclass(kind, faults.LocalFault) != issubclass(kind, faults.WireFault)
