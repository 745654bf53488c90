"""Tests of what units do where their lists say nothing (trade guide 10.4)."""

import pytest

from commission.practice.device import Device, Fault, ModbusFault, TableName
from commission.practice.manners import STRICT, Manners, manners_of
from tests.practice.made import BDV, FCV, SHEET, unit_of


def test_each_unit_has_its_own() -> None:
    """FCV-2204 is lenient, BDV-3307 is slow, XV-1101 is strict and quick."""
    assert manners_of(FCV).lenient
    assert manners_of(BDV).slow_s > 0.1
    assert manners_of(SHEET) == STRICT


def test_a_list_from_1_reads_0_one_too_far() -> None:
    """Wire address 0 is the identity; who takes the list's 1 for the wire's reads 0 there, not an error."""
    device = Device(unit_of(FCV))
    assert device.read(TableName.INPUT, 0, 1) == [2204]
    assert device.read(TableName.INPUT, 1, 1) == [0]


def test_a_gap_is_forbidden_all_the_same() -> None:
    """The list's input 29 and holdings 2 to 10 are refused, alone and in the middle of a run."""
    device = Device(unit_of(FCV))
    for table, address, count in ((TableName.INPUT, 28, 1), (TableName.INPUT, 26, 5), (TableName.HOLDING, 0, 12)):
        with pytest.raises(ModbusFault) as caught:
            device.read(table, address, count)
        assert caught.value.code is Fault.ILLEGAL_ADDRESS
    with pytest.raises(ModbusFault):
        device.read(TableName.INPUT, 200, 1)


def test_a_strict_unit_refuses_what_it_does_not_list() -> None:
    """Between two points of XV-1101 there is nothing to read."""
    with pytest.raises(ModbusFault):
        Device(unit_of(SHEET)).read(TableName.INPUT, 1, 1)
    assert Device(unit_of(SHEET), Manners(lenient=True)).read(TableName.INPUT, 1, 1) == [0]
