"""
What the wire gave: raw registers with the time they were read, before anybody has interpreted them.

`link` makes samples, `record` keeps them, `sheet.decode` reads engineering values out of them. Keeping the registers
raw means that a register map found wrong later is corrected and everything recomputed.
"""

import hashlib
from enum import StrEnum

import msgspec


class Table(StrEnum):
    """The four tables of Modbus (Application Protocol V1.1b3, 4.3)."""

    COIL = "coil"
    DISCRETE = "discrete"
    INPUT = "input"
    HOLDING = "holding"

    @property
    def holds_bits(self) -> bool:
        """Whether one address of this table is one bit."""
        return self in (Table.COIL, Table.DISCRETE)


class Block(msgspec.Struct, frozen=True):
    """A run of neighbouring addresses that one request reads; `address` is the wire's, counting from 0."""

    table: Table
    address: int
    count: int


class ReadPlan(msgspec.Struct, frozen=True):
    """The requests of one polling cycle, in order."""

    unit_id: int
    blocks: tuple[Block, ...]

    @property
    def digest(self) -> str:
        """SHA-256 of the plan's JSON text, in hex: names the plan in the record."""
        return hashlib.sha256(msgspec.json.encode(self)).hexdigest()


class BlockRead(msgspec.Struct, frozen=True, array_like=True):
    """
    The words of one block and when the unit read them.

    The moment lies within `at_ns` ± `half_width_ns` (unit time). Bits are 0 or 1, one a word.
    """

    at_ns: int
    half_width_ns: int
    words: tuple[int, ...]


class Sample(msgspec.Struct, frozen=True, array_like=True, tag="s"):
    """One polling cycle: one `BlockRead` for each block of the plan, in the plan's order."""

    number: int
    reads: tuple[BlockRead, ...]

    @property
    def at_ns(self) -> int:
        """Unit time of the cycle: the midpoint of its last read."""
        return self.reads[-1].at_ns


class Silence(msgspec.Struct, frozen=True, array_like=True, tag="q"):
    """
    No sample came when one was due.

    Args:
        number: Number of the sample that is missing.

        since_ns: Unit time of the last good sample, or of the start of polling.

        at_ns: Unit time when the silence was noticed.

        reason: What the wire said, in words.
    """

    number: int
    since_ns: int
    at_ns: int
    reason: str


SampleOrSilence = Sample | Silence


class Outcome(StrEnum):
    """What came back for a write. None of these says that the unit has acted (safety rule R12)."""

    ANSWERED = "answered"
    REFUSED = "refused"
    UNANSWERED = "unanswered"


class Written(msgspec.Struct, frozen=True):
    """
    One write as the wire saw it.

    Args:
        at_ns: Unit time at which it reached the unit, with `half_width_ns`.

        outcome: What came back.

        reason: For refused and unanswered, in words.

        code: The exception code of a refusal; 0 where the unit gave none.
    """

    at_ns: int
    half_width_ns: int
    outcome: Outcome
    reason: str = ""
    code: int = 0
