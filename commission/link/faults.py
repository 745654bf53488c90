"""
Everything that can go wrong between the program and the unit, as one tree.

    LinkError
    ├── LocalFault          ours: nothing was put on the wire
    │   ├── UrlError        the address cannot be read
    │   ├── PlanError       a point that cannot be polled
    │   ├── WriteRefused    the write guard said no
    │   ├── SearchRefused   somebody else is talking on the line, which is not searched
    │   └── LineInUse       somebody else is talking on the line, which is not used
    └── WireFault           the wire's or the unit's
        ├── NotConnected    no port or no socket: nothing was sent
        ├── NoAnswer        sent, and nothing came back in time
        │   └── Overtaken   given up for a make-safe write
        ├── BadAnswer       something came that is not the answer to what was asked
        ├── NoReading       a measuring instrument gave no number, or not the one that was asked
        ├── UnitRefused     the unit answered with an exception code
        └── WrongUnit       the unit that answers is not the one of the sheet, or not the one of before

Each exception's text is a sentence for a technician.
"""

from commission.sample import Table
from commission.sheet import ROLES, Sheet

TABLE_WORDS = {
    Table.COIL: "coil",
    Table.DISCRETE: "discrete input",
    Table.INPUT: "input register",
    Table.HOLDING: "holding register",
}

_CODE_WORDS = {
    1: "does not know this function",
    2: "has no such address",
    3: "does not accept this value or number of points",
    4: "failed while carrying it out",
    5: "has accepted it and needs more time",
    6: "is busy with something else",
    8: "found a parity error in its memory",
    10: "cannot be reached: the gateway has no path to it",
    11: "did not answer the gateway",
}
"""Exception codes of Modbus Application Protocol V1.1b3, clause 7, as what the unit does."""

ILLEGAL_ADDRESS = 2
ACKNOWLEDGED = 5


class LinkError(Exception):
    """Something is wrong between the program and the unit."""


class LocalFault(LinkError):
    """Ours: nothing was put on the wire."""


class UrlError(LocalFault):
    """An address that cannot be read."""


class PlanError(LocalFault):
    """A point that cannot be polled, or that the sheet does not have."""


class WriteRefused(LocalFault):
    """The write guard said no; nothing was sent."""


class SearchRefused(LocalFault):
    """Somebody else is talking on the line, so it is not searched (safety rule R16)."""


class LineInUse(LocalFault):
    """Somebody else is talking on the line, so nothing is sent into it (safety rule R16)."""


class WireFault(LinkError):
    """The wire's or the unit's."""


class NotConnected(WireFault):
    """There is no open port or socket; nothing was sent."""


class NoAnswer(WireFault):
    """A request was sent and nothing came back in time."""


class Overtaken(NoAnswer):
    """Waiting was given up because a make-safe write had to go."""


class BadAnswer(WireFault):
    """Something came that is not the answer to what was asked; it has been dropped."""


class NoReading(WireFault):
    """A measuring instrument gave no number; the text says what it gave and what to do."""


class WrongUnit(WireFault):
    """The unit that answers is not the one of the sheet, or not the one that answered before."""


class UnitRefused(WireFault):
    """
    The unit answered with an exception code.

    Args:
        code: The exception code.

        table: What was asked.

        address: First address asked, as on the wire (from 0).

        count: How many addresses.
    """

    def __init__(self, code: int, table: Table | None = None, address: int = 0, count: int = 1) -> None:
        self.code = code
        self.table = table
        self.address = address
        self.count = count
        super().__init__(f"the unit {code_words(code)} (exception {code})")


def code_words(code: int) -> str:
    """What an exception code says of the unit, to follow "the unit"."""
    return _CODE_WORDS.get(code, "refused in a way the protocol does not describe")


def explain(sheet: Sheet, fault: LinkError) -> str:
    """
    The sentence for a fault, with the numbers and names of the unit's own list.

    An address that the unit does not have is, on a first visit, most often a list that counts from 1 read as one that
    counts from 0 or the reverse, so the sentence asks.
    """
    if not isinstance(fault, UnitRefused) or fault.table is None:
        return str(fault)
    first = fault.address + sheet.link.counts_from
    numbers = f"{first}" if fault.count == 1 else f"{first} to {first + fault.count - 1}"
    plural = "" if fault.count == 1 else "s"
    named = _names(sheet, fault.table, fault.address, fault.count)
    what = f"{TABLE_WORDS[fault.table]}{plural} {numbers}{named}"
    if fault.code == ILLEGAL_ADDRESS:
        other = 1 - sheet.link.counts_from
        return f"the unit has no {what}: does its list count from {other}?"
    return f"asked for {what}, the unit {code_words(fault.code)} (exception {fault.code})"


def _names(sheet: Sheet, table: Table, address: int, count: int) -> str:
    labels = [
        ROLES[point.role].label
        for point in sheet.points
        if point.table is table and address <= sheet.wire_address(point) < address + count
    ]
    if not labels:
        return ""
    return f" ({', '.join(labels)})" if len(labels) <= 3 else f" ({labels[0]} … {labels[-1]})"
