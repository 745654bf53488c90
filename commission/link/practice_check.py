"""
Whether this is a practice unit (safety rule R15).

A practice unit says so over the wire, in Read Device Identification (Modbus Application Protocol V1.1b3, 6.21, private
objects): object 0x80 is `practice speed=<N> nonce=<16 hex digits>`, and any object from 0x81 to 0xFF answers the first
16 hex digits of SHA-256 of `practice:<nonce>:<object>:<speed>`. No field unit answers that by accident, and a recording
of an earlier answer fails because the objects asked differ each time. It is no secret and no protection against malice.
"""

import hashlib
import random
import re

import msgspec

from commission.link.faults import BadAnswer, NoAnswer, UnitRefused
from commission.link.line import Line

CLAIM_OBJECT = 0x80
CHALLENGE_OBJECTS = range(0x81, 0x100)
_CHALLENGES = 3
_CLAIM = re.compile(rb"practice speed=(\d+(?:\.\d+)?) nonce=([0-9a-f]{16})")


class PracticeIdentity(msgspec.Struct, frozen=True):
    """A unit that has proved to be a practice unit, with the speed of its time."""

    speed: float


def expected_answer(nonce: str, object_id: int, speed: float) -> bytes:
    """What a practice unit answers for one object of the challenge."""
    text = f"practice:{nonce}:{object_id}:{speed:g}"
    return hashlib.sha256(text.encode("ascii")).hexdigest()[:16].encode("ascii")


async def practice_identity(line: Line, draw: random.Random | None = None) -> PracticeIdentity | None:
    """
    The practice unit's identity, or None for any unit that does not prove to be one.

    Args:
        line: An open line.

        draw: Where the challenge comes from; the system's own randomness if None.

    Raises:
        NotConnected: the line is not open.
    """
    try:
        claim = _CLAIM.fullmatch(await line.identification(CLAIM_OBJECT))
        if claim is None:
            return None
        speed, nonce = float(claim[1]), claim[2].decode("ascii")
        objects = (draw or random.SystemRandom()).sample(CHALLENGE_OBJECTS, _CHALLENGES)
        for object_id in objects:
            if await line.identification(object_id) != expected_answer(nonce, object_id, speed):
                return None
    except (UnitRefused, NoAnswer, BadAnswer):
        return None
    return PracticeIdentity(speed) if speed > 0 else None
