"""Where a unit is reached: `tcp://127.0.0.1:5020?unit=1`, `rtu:///dev/ttyUSB0?baud=19200&parity=E&stop=1&unit=1`."""

from typing import Literal
from urllib.parse import SplitResult, parse_qsl, unquote, urlsplit

import msgspec

from commission.content import nearest
from commission.link.faults import UrlError

BAUDS = (1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200)
_EXAMPLES = "tcp://127.0.0.1:5020?unit=1 or rtu:///dev/ttyUSB0?baud=19200&parity=E&stop=1&unit=1 or rtu://COM3"
_TCP_PORT = 502
"""The port registered for Modbus (MODBUS Messaging on TCP/IP Implementation Guide V1.0b, 4.2)."""

_FIELDS = {"tcp": ("unit",), "rtu": ("baud", "parity", "stop", "unit")}


class TcpAddress(msgspec.Struct, frozen=True):
    """A unit on a network: host, port, and the unit identifier where the address gives one."""

    host: str
    port: int = _TCP_PORT
    unit_id: int | None = None

    @property
    def text(self) -> str:
        """The address as it is shown and recorded."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"tcp://{host}:{self.port}" + ("" if self.unit_id is None else f"?unit={self.unit_id}")


class SerialAddress(msgspec.Struct, frozen=True):
    """
    A unit on a serial line; what the address leaves open is the sheet's to say.

    The defaults are those of the standard (MODBUS over Serial Line V1.02, 2.5.1: 19200 baud, even parity).
    """

    device: str
    baud: int | None = None
    parity: Literal["E", "O", "N"] | None = None
    stop_bits: int | None = None
    unit_id: int | None = None

    @property
    def text(self) -> str:
        """The address as it is shown and recorded."""
        fields = {"baud": self.baud, "parity": self.parity, "stop": self.stop_bits, "unit": self.unit_id}
        query = "&".join(f"{name}={value}" for name, value in fields.items() if value is not None)
        return f"rtu://{self.device}" + (f"?{query}" if query else "")


Address = TcpAddress | SerialAddress


def parse_url(text: str) -> Address:
    """
    The address in a text.

    Raises:
        UrlError: it cannot be read; the message names the part and what was expected.
    """
    try:
        parts = urlsplit(text.strip())
    except ValueError as error:
        raise UrlError(f"{text!r} is not an address ({error}); write it as {_EXAMPLES}") from error
    if parts.scheme not in _FIELDS:
        raise UrlError(f"{text!r}: an address begins with tcp:// or rtu://; write it as {_EXAMPLES}")
    fields = _fields(text, parts)
    unit_id = _whole(text, fields, "unit", range(1, 248), "1 … 247 (0 is for all units at once and is never used)")
    if parts.scheme == "tcp":
        return _tcp(text, parts, unit_id)
    return _serial(text, parts, fields, unit_id)


def _fields(text: str, parts: SplitResult) -> dict[str, str]:
    known = _FIELDS[parts.scheme]
    pairs = parse_qsl(parts.query, keep_blank_values=True)
    for name, _ in pairs:
        if name not in known:
            guess = nearest(name, known)
            hint = f"; did you mean {guess!r}?" if guess else ""
            raise UrlError(f"{text!r}: found {name!r}, expected {', '.join(known)}{hint}")
    return dict(pairs)


def _whole(text: str, fields: dict[str, str], name: str, allowed: range | tuple[int, ...], words: str) -> int | None:
    if name not in fields:
        return None
    found = fields[name]
    if not (found.isascii() and found.isdigit() and int(found) in allowed):
        raise UrlError(f"{text!r}: {name} is {found!r}, expected {words}")
    return int(found)


def _tcp(text: str, parts: SplitResult, unit_id: int | None) -> TcpAddress:
    if parts.path not in ("", "/"):
        raise UrlError(f"{text!r}: found {parts.path!r} after the host, expected nothing or ?unit=")
    try:
        port = parts.port
    except ValueError as error:
        raise UrlError(f"{text!r}: the port is a number from 1 to 65535") from error
    if not parts.hostname or port == 0:
        raise UrlError(f"{text!r}: expected a host and a port, as tcp://127.0.0.1:5020")
    return TcpAddress(parts.hostname, port or _TCP_PORT, unit_id)


def _serial(text: str, parts: SplitResult, fields: dict[str, str], unit_id: int | None) -> SerialAddress:
    device = unquote(parts.netloc + parts.path)
    if not device.strip("/"):
        raise UrlError(f"{text!r}: expected a serial port, as rtu:///dev/ttyUSB0 or rtu://COM3")
    baud = _whole(text, fields, "baud", BAUDS, f"one of {', '.join(map(str, BAUDS))}")
    stop_bits = _whole(text, fields, "stop", (1, 2), "1 or 2")
    parity = fields.get("parity", "").upper()
    if parity not in ("", "E", "O", "N"):
        raise UrlError(f"{text!r}: parity is {fields['parity']!r}, expected E, O or N")
    return SerialAddress(device, baud, parity or None, stop_bits, unit_id)  # type: ignore[arg-type]  # narrowed above
