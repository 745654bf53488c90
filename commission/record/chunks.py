"""
Pack the samples of about a second into the bytes of one chunk, and back, exactly.

A chunk is `SC`, one byte of format version, then zlib (RFC 1950) around MessagePack of `[plan digest, items]`. Raw
registers and whole nanoseconds only: what they mean is read through the sheet, each time anew.
"""

import zlib
from collections.abc import Sequence

import msgspec

from commission.record.errors import RecordDamaged
from commission.sample import SampleOrSilence

FORMAT = 1
"""Version of the format of a chunk."""

_MARK = b"SC"
_LONGEST = 64 * 2**20
"""No chunk unpacks to more than this many bytes; a damaged one must not fill the memory."""


class Chunk(msgspec.Struct, frozen=True, array_like=True):
    """
    Samples and silences in their order, as read by one plan.

    Args:
        plan: `ReadPlan.digest` of the plan.

        items: In the order in which they came.
    """

    plan: str
    items: tuple[SampleOrSilence, ...]


def pack(plan: str, items: Sequence[SampleOrSilence]) -> bytes:
    """
    The bytes of a chunk.

    Raises:
        ValueError: a number does not fit 64 bits.
    """
    try:
        packed = msgspec.msgpack.encode(Chunk(plan, tuple(items)))
    except OverflowError as error:
        raise ValueError(f"a sample holds a number that does not fit 64 bits: {error}") from error
    return _MARK + bytes((FORMAT,)) + zlib.compress(packed, 6)


def unpack(data: bytes) -> Chunk:
    """
    The samples in the bytes of a chunk.

    Raises:
        RecordDamaged: the bytes are no chunk, or one of a later format.
    """
    if data[:2] != _MARK or len(data) < 4:
        raise RecordDamaged("these bytes are not a chunk of samples")
    if data[2] != FORMAT:
        raise RecordDamaged(f"a chunk of format {data[2]}; this program reads format {FORMAT}")
    try:
        expander = zlib.decompressobj()
        packed = expander.decompress(data[3:], _LONGEST)
        if not expander.eof or expander.unused_data:
            raise RecordDamaged("a chunk of samples does not end where it should")
        return msgspec.msgpack.decode(packed, type=Chunk)
    except (zlib.error, msgspec.DecodeError) as error:
        raise RecordDamaged(f"a chunk of samples cannot be unpacked: {error}") from error
