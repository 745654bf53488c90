"""
The unit as the link sees it: tables of bits and registers, commands and settings; no framing, no transport.

An address that the sheet does not name is refused as illegal; so is a write to something that is only read. A command
the unit does not take now is refused as a failure of the device, and nothing of it is kept.
"""

from enum import IntEnum, StrEnum

from commission.practice.manners import Manners, manners_of
from commission.practice.orders import Order, Refused
from commission.practice.registers import as_served, bit_of, check_units, value_of, words_of
from commission.practice.settings import SETTING_ROLES
from commission.practice.unit import PracticeUnit
from commission.sheet import Point


class TableName(StrEnum):
    """The four tables of Modbus."""

    COIL = "coil"
    DISCRETE = "discrete"
    INPUT = "input"
    HOLDING = "holding"


class Fault(IntEnum):
    """Exception codes (Modbus Application Protocol V1.1b3, 7)."""

    ILLEGAL_FUNCTION = 1
    ILLEGAL_ADDRESS = 2
    ILLEGAL_VALUE = 3
    DEVICE_FAILURE = 4


class ModbusFault(Exception):  # an answer of the protocol
    """The request is answered with an exception code."""

    def __init__(self, code: Fault) -> None:
        super().__init__(code.name)
        self.code = code


_ORDERS = {
    "command_open": Order.OPEN,
    "command_close": Order.CLOSE,
    "command_stop": Order.STOP,
    "command_reset": Order.RESET,
    "command_partial_stroke": Order.PARTIAL_STROKE,
    "command_esd_test": Order.ESD_TEST,
    "command_follow_link": Order.FOLLOW_LINK,
    "command_follow_loop": Order.FOLLOW_LOOP,
}


class Device:
    """
    Reads and writes of one unit.

    Args:
        unit: The unit behind it.

        manners: What it does where its list says nothing.
    """

    def __init__(self, unit: PracticeUnit, manners: Manners | None = None) -> None:
        check_units(unit.sheet)
        self.unit = unit
        self.manners = manners_of(unit.sheet) if manners is None else manners
        self._sheet = as_served(unit.sheet, unit.condition)
        self._at: dict[tuple[TableName, int], list[Point]] = {}
        for point in self._sheet.points:
            for offset in range(point.words):
                place = (TableName(point.table.value), self._sheet.wire_address(point) + offset)
                self._at.setdefault(place, []).append(point)

    def read(self, table: TableName, address: int, count: int) -> list[int]:
        """
        Bits or registers at wire addresses.

        Raises:
            ModbusFault: an address in the run is not in the unit's list.
        """
        readings = self.unit.readings()
        return [self._word(table, place, readings) for place in range(address, address + count)]

    def write(self, table: TableName, address: int, values: list[int]) -> None:
        """
        Write bits or registers: commands act, settings change. All of a run is checked before any of it acts.

        Raises:
            ModbusFault: an address that is not written, a value out of range, or a command refused now.
        """
        points = self._written(table, address, len(values))
        for point in points:
            offset = self._sheet.wire_address(point) - address
            words = tuple(values[offset : offset + point.words])
            if point.role in _ORDERS:
                self._order(point, words[0])
            else:
                self._set(point, words)

    def _word(self, table: TableName, address: int, readings: dict[str, float]) -> int:
        points = self._at.get((table, address))
        if not points:
            return self._unlisted(table, address)
        first = points[0]
        if first.bit is None and not first.table.holds_bits:
            words = words_of(self._sheet, first, readings.get(first.role, 0.0))
            return words[address - self._sheet.wire_address(first)]
        return sum(bit_of(point, readings.get(point.role, 0.0)) << (point.bit or 0) for point in points)

    def _unlisted(self, table: TableName, address: int) -> int:
        """0 between two addresses of a lenient unit's list; else refused."""
        listed = [place for kind, place in self._at if kind is table]
        count = address + self._sheet.link.counts_from
        forbidden = any(kind == table and first <= count <= last for kind, first, last in self.manners.forbidden)
        if not self.manners.lenient or forbidden or not listed or not min(listed) <= address <= max(listed):
            raise ModbusFault(Fault.ILLEGAL_ADDRESS)
        return 0

    def _written(self, table: TableName, address: int, count: int) -> list[Point]:
        points: list[Point] = []
        for place in range(address, address + count):
            here = self._at.get((table, place))
            if not here or here[0].write is None:
                raise ModbusFault(Fault.ILLEGAL_ADDRESS)
            whole = address <= self._sheet.wire_address(here[0]) <= address + count - here[0].words
            if not whole:
                raise ModbusFault(Fault.ILLEGAL_ADDRESS)
            if here[0] not in points:
                points.append(here[0])
        return points

    def _order(self, point: Point, written: int) -> None:
        if written != point.value:
            return  # letting go of a pulse
        try:
            self.unit.order(_ORDERS[point.role], remote=True)
        except Refused as refused:
            raise ModbusFault(Fault.DEVICE_FAILURE) from refused

    def _set(self, point: Point, words: tuple[int, ...]) -> None:
        if point.role == "set_point":
            self._command_to(value_of(self._sheet, point, words) * 100)
            return
        if point.role not in SETTING_ROLES:
            raise ModbusFault(Fault.ILLEGAL_ADDRESS)
        try:
            self.unit.change_setting(point.role, value_of(self._sheet, point, words))
        except ValueError as error:
            raise ModbusFault(Fault.ILLEGAL_VALUE) from error

    def _command_to(self, percent: float) -> None:
        try:
            self.unit.command_to(percent)
        except Refused as refused:
            raise ModbusFault(Fault.DEVICE_FAILURE) from refused
        except ValueError as error:
            raise ModbusFault(Fault.ILLEGAL_VALUE) from error
