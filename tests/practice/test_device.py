"""Reads and writes as the link sees them."""

import pytest

from commission.practice.device import Device, Fault, ModbusFault, TableName
from tests.practice.made import MakeUnit, Until


def refused_with(device: Device, table: TableName, address: int, values: list[int]) -> Fault:
    """The exception code of a write that must be refused."""
    with pytest.raises(ModbusFault) as caught:
        device.write(table, address, values)
    return caught.value.code


@pytest.mark.parametrize(
    ("table", "address", "count"),
    [
        (TableName.INPUT, 1, 1),
        (TableName.INPUT, 22, 3),
        (TableName.DISCRETE, 8, 1),
        (TableName.COIL, 5, 1),
        (TableName.HOLDING, 0, 1),
    ],
)
def test_unmapped_addresses_are_illegal(make_unit: MakeUnit, table: TableName, address: int, count: int) -> None:
    """Outside the list, and across a gap in it."""
    with pytest.raises(ModbusFault) as caught:
        Device(make_unit()).read(table, address, count)
    assert caught.value.code is Fault.ILLEGAL_ADDRESS


def test_pulse_coils(make_unit: MakeUnit, until: Until) -> None:
    """Writing 1 acts, writing 0 lets go, and the coil reads 0."""
    unit = make_unit()
    device = Device(unit)
    device.write(TableName.COIL, 0, [1])
    device.write(TableName.COIL, 0, [0])
    until(unit, lambda truth: truth.travel_pct > 1.0, 20.0)
    assert device.read(TableName.COIL, 0, 5) == [0] * 5
    device.write(TableName.COIL, 2, [1])
    unit.advance(1.0)
    assert device.read(TableName.DISCRETE, 2, 1) == [0]


def test_settings_are_written_and_read_back(make_unit: MakeUnit) -> None:
    """Run limit in seconds, low trip in tenths of a bar; zero is refused as a value."""
    unit = make_unit()
    device = Device(unit)
    device.write(TableName.HOLDING, 10, [75])
    device.write(TableName.HOLDING, 20, [715, 480])
    assert device.read(TableName.HOLDING, 10, 1) == [75]
    assert unit.settings.trip_high_pa == pytest.approx(71.5e5)
    assert unit.settings.trip_low_pa == pytest.approx(48e5)
    assert refused_with(device, TableName.HOLDING, 10, [0]) is Fault.ILLEGAL_VALUE


def test_what_is_only_read_is_not_written(make_unit: MakeUnit) -> None:
    """An input, a gap, and half of a run."""
    device = Device(make_unit())
    assert refused_with(device, TableName.INPUT, 10, [0, 0]) is Fault.ILLEGAL_ADDRESS
    assert refused_with(device, TableName.HOLDING, 14, [10, 10]) is Fault.ILLEGAL_ADDRESS
    assert device.read(TableName.HOLDING, 14, 1) == [15]


def test_refused_commands_answer_device_failure(make_unit: MakeUnit) -> None:
    """Partial stroke on a closed valve; reset of a pressure trip from the bus."""
    unit = make_unit()
    device = Device(unit)
    assert refused_with(device, TableName.COIL, 4, [1]) is Fault.DEVICE_FAILURE
    unit.onboard.monitor.low_latched = True
    assert refused_with(device, TableName.COIL, 3, [1]) is Fault.DEVICE_FAILURE


def test_packed_alarm_bits(make_unit: MakeUnit) -> None:
    """Alarm word at input 26: bit 3 fluid, bit 4 not automatic (trade guide 10.4)."""
    unit = make_unit()
    unit.side.float_lifted = True
    unit.side.hand_lever_stowed = False
    unit.advance(0.1)
    assert Device(unit).read(TableName.INPUT, 26, 1) == [0b11000]
