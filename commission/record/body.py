"""The facts of an event as plain JSON values, or a clear refusal: nothing may be lost unseen on its way to the disk."""

import math
from collections.abc import Mapping
from typing import Any

import msgspec

_MOST_INT = 2**63 - 1


def plain_body(body: Mapping[str, Any]) -> dict[str, Any]:
    """
    The body in plain JSON values; structs, enums and dates are turned into them; tuples may stay.

    Raises:
        ValueError: it holds something that JSON would lose or refuse; the message names the place.
    """
    try:
        plain = msgspec.to_builtins(dict(body), str_keys=True)
    except (TypeError, ValueError) as error:
        raise ValueError(f"body: {error}; expected values that JSON can keep") from error
    _require_plain(plain, "body")
    return dict(plain)


def _require_plain(value: object, place: str) -> None:
    if isinstance(value, dict):
        for key, item in value.items():
            _require_plain(key, f"{place}, key")
            _require_plain(item, f"{place}.{key}")
    elif isinstance(value, list | tuple):
        for index, item in enumerate(value):
            _require_plain(item, f"{place}[{index}]")
    elif isinstance(value, float) and not math.isfinite(value):
        raise ValueError(f"{place}: found {value}, expected a finite number; JSON would keep it as nothing")
    elif isinstance(value, int) and abs(value) > _MOST_INT:
        raise ValueError(f"{place}: found {value}, expected a whole number of at most 64 bits")
    elif isinstance(value, str) and not value.isascii():
        try:
            value.encode()
        except UnicodeEncodeError as error:
            raise ValueError(f"{place}: found {value!r}, expected text that UTF-8 can keep") from error
