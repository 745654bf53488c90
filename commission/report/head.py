"""The head digest of a record as a short code to read out over the radio and note outside (safety rule R27)."""

import base64

_BYTES = 15
_GROUP = 6


def head_code(digest: str) -> str:
    """
    The first 120 bits of a digest in four groups of six letters and digits, as `MFRGG2-DFMZTW-Q2LKMN-ZXW5BA`.

    Args:
        digest: SHA-256 in hex; empty for an empty record.

    Raises:
        ValueError: the digest is not hex.

    Source: Base 32 alphabet of RFC 4648, clause 6, which has no 0, 1 or 8 to be misheard.
    """
    letters = base64.b32encode(bytes.fromhex(digest)[:_BYTES]).decode().rstrip("=")
    return "-".join(letters[start : start + _GROUP] for start in range(0, len(letters), _GROUP))
