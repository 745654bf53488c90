"""
What the unit says it is (Read Device Identification, function 43/14: Application Protocol V1.1b3, 6.21).

A client may let a file answer for people only while the link proves to be a practice unit. The proof is a challenge:
the unit names a nonce that is new in each process and its speed, and answers any private object with a digest of both.
"""

import hashlib
import secrets

import msgspec

from commission import __version__

NONCE_BYTES = 8
CHALLENGE_ID = 0x80
PRIVATE_IDS = range(0x80, 0x100)


class Identification(msgspec.Struct, frozen=True, kw_only=True):
    """
    The identification objects of one practice unit.

    Args:
        tag: Of the unit.

        speed: Unit time a second of wire time.

        nonce: 16 hexadecimal digits, new in each process.
    """

    tag: str
    speed: float
    nonce: str

    def object(self, object_id: int) -> bytes | None:
        """One object's text, or None where there is none."""
        if object_id == CHALLENGE_ID:
            return f"practice speed={self.speed:g} nonce={self.nonce}".encode()
        if object_id in PRIVATE_IDS:
            text = f"practice:{self.nonce}:{object_id}:{self.speed:g}"
            return hashlib.sha256(text.encode()).hexdigest()[:16].encode()
        basic = {0x00: "practice unit", 0x01: self.tag, 0x02: __version__}.get(object_id)
        return None if basic is None else basic.encode()


def fresh_identification(tag: str, speed: float) -> Identification:
    """The identification of a practice unit that is just starting."""
    return Identification(tag=tag, speed=speed, nonce=secrets.token_hex(NONCE_BYTES))
