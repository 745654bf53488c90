"""Where the points of a unit are, and how to read them: one `Point` a role."""

from enum import StrEnum
from typing import Annotated, Literal

import msgspec

from commission.sample import Table
from commission.sheet.roles import ROLES, Role, RoleKind

Address = Annotated[int, msgspec.Meta(ge=0, le=65536)]

ByteOrder = Literal["ABCD", "CDAB", "BADC", "DCBA"]
"""Order of the four bytes of a 32-bit value on the wire; A is the most significant."""

RegisterType = Literal["u16", "i16", "u32", "i32", "f32"]


class WriteClass(StrEnum):
    """What a write may do (safety rule R8)."""

    STOP = "stop"
    SETTING = "setting"
    RESET = "reset"
    MOTION = "motion"


MOVES: frozenset[str] = frozenset(
    {
        "command_open",
        "command_close",
        "command_partial_stroke",
        "command_esd_test",
        "command_follow_link",
        "command_follow_loop",
        "set_point",
    }
)
"""Roles that put the valve in motion: written as `motion` only, whatever a sheet would like (safety rule R8)."""


class Transmitter(msgspec.Struct, frozen=True, kw_only=True):
    """
    What the data sheet of the instrument behind a point promises.

    Args:
        low: Lower end of its range, in the point's unit.

        high: Upper end.

        accuracy_pct: Largest error, in per cent of the range's width.
    """

    low: float
    high: float
    accuracy_pct: Annotated[float, msgspec.Meta(gt=0, le=100)]

    def __post_init__(self) -> None:
        """A range has a width."""
        if not self.low < self.high:
            raise ValueError("low below high")


class Point(msgspec.Struct, frozen=True, kw_only=True):
    """
    One point of the unit's own list.

    Args:
        role: What it means; a name in `roles.ROLES`.

        table: Which Modbus table it is in.

        address: As the unit's own list counts; the sheet's link says whether that is from 0 or 1.

        type: How the register or pair of registers is to be read; `bit` points leave it out.

        order: Byte order of a 32-bit value; the link's order where left out.

        bit: For a bit packed in a register, which one; 0 is the least significant.

        scale: Multiplies the raw number to give `unit`.

        unit: What the scaled number is in, as `bar`, `mA`, `%`.

        one_means: For a bit, the word of its role that 1 stands for.

        write: For a command, what writing it may do. A person names it; it is never guessed.

        value: What to write to give a command; 1 for a coil.

        read_clears: Reading changes it at the unit: never polled.

        transmitter: Range and accuracy of the instrument behind it; None where the sheet does not say.
    """

    role: str
    table: Table
    address: Address
    type: RegisterType = "u16"
    order: ByteOrder | None = None
    bit: Annotated[int, msgspec.Meta(ge=0, le=15)] | None = None
    scale: float = 1.0
    unit: str = "1"
    one_means: str = ""
    write: WriteClass | None = None
    value: Annotated[int, msgspec.Meta(ge=0, le=65535)] = 1
    read_clears: bool = False
    transmitter: Transmitter | None = None

    def __post_init__(self) -> None:
        """Refuse a point that contradicts its role."""
        role = ROLES.get(self.role)
        if self.scale == 0:
            raise ValueError("scale other than 0, which would make every reading 0")
        if role is None:
            return  # named with its nearest by sheet.check
        if role.kind is RoleKind.BIT:
            self._check_bit(role)
        elif self.bit is not None or self.one_means:
            raise ValueError("bit and one_means only for a role that is a bit")
        self._check_write(role.kind)

    def _check_write(self, kind: RoleKind) -> None:
        if kind in (RoleKind.BIT, RoleKind.NUMBER) and self.write is not None:
            raise ValueError("a measured point has no write class")
        if kind is RoleKind.COMMAND and self.write is None:
            raise ValueError("a command names its write class: stop, setting, reset or motion")
        if kind is RoleKind.SETTING and self.write not in (None, WriteClass.SETTING):
            raise ValueError('write = "setting", or none: writing a setting moves nothing')
        if self.role in MOVES and self.write is not WriteClass.MOTION:
            raise ValueError('write = "motion": this command moves the valve')
        if self.write is WriteClass.STOP and self.role != "command_stop":
            raise ValueError('write = "stop" only for command_stop: a stop is sent without leave')
        if self.write is not None and self.table is Table.COIL and self.value > 1:
            raise ValueError("value = 0 or 1: it is written to a coil")

    def _check_bit(self, role: Role) -> None:
        if self.one_means not in (role.true_word, role.false_word):
            raise ValueError(
                f'one_means = "{role.true_word}" or "{role.false_word}" (what 1 stands for), not "{self.one_means}"'
            )
        if self.table.holds_bits and self.bit is not None:
            raise ValueError("no bit: one address of this table is one bit")
        if not self.table.holds_bits and self.bit is None:
            raise ValueError("bit = 0 … 15, because the point lies in a register")

    @property
    def words(self) -> int:
        """How many addresses it takes."""
        if self.table.holds_bits or self.bit is not None:
            return 1
        return 2 if self.type in ("u32", "i32", "f32") else 1
