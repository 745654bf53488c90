"""
What passes on the wire, byte for byte: when it passed, and whether it can be the answer to what was asked.

The Modbus library checks the CRC and, on a serial line, nothing else but the unit identifier: a late answer becomes the
answer to the next request. So every byte goes through here first. Bytes that come when nothing was asked are dropped; a
frame with another function, unit, transaction or length is reported as wrong before the library sees it; an echo of our
own frame is recognised and taken off.

For a make-safe write the true answer is known beforehand (Modbus Application Protocol V1.1b3, 6.5 and 6.6: it repeats
function and address), so it is looked for among whatever else still arrives.
"""

from collections.abc import Callable

import msgspec

_READS_BITS = (1, 2)
_READS_REGISTERS = (3, 4)
_WRITES = (5, 6, 16)
_IDENTIFICATION = 43
_REFUSAL_PDU_BYTES = 2
_NS = 1_000_000_000


class Expected(msgspec.Struct, frozen=True):
    """
    The answer that would be right.

    Args:
        unit_id: Who answers.

        function: The function code asked for.

        pdu_bytes: Length of the answer's PDU, or None where it is the unit's to choose (function 43).

        seek: Look for the answer among other frames (make-safe writes of one coil or register only).
    """

    unit_id: int
    function: int
    pdu_bytes: int | None
    seek: bool = False


class Window(msgspec.Struct, frozen=True):
    """From when to when, in wire time, the unit can have acted on a request: after its last byte, before the answer."""

    begin_ns: int
    end_ns: int


class Wiretap:
    """
    Watches one wire.

    Args:
        wire_ns: The wire clock.

        rtu: Serial framing; else TCP framing.

        byte_s: Seconds a byte takes on the wire; 0 on TCP.
    """

    def __init__(self, wire_ns: Callable[[], int], *, rtu: bool, byte_s: float = 0.0) -> None:
        self._wire_ns = wire_ns
        self._rtu = rtu
        self._byte_s = byte_s
        self._pdu_at = 1 if rtu else 7
        self._expected: Expected | None = None
        self._on_wrong: Callable[[], None] = lambda: None
        self._sent = b""
        self._first: tuple[int, int] | None = None
        self.sent_ns: int | None = None
        self.last_byte_ns = wire_ns()
        self.echo = False
        self.dropped_bytes = 0
        self.wrong: str | None = None

    def arm(self, expected: Expected, on_wrong: Callable[[], None]) -> None:
        """Get ready for one request; `on_wrong` is called once if something else than its answer comes."""
        self._expected, self._on_wrong = expected, on_wrong
        self._sent, self._first, self.sent_ns, self.wrong = b"", None, None, None

    def disarm(self) -> None:
        """From now on everything that comes is dropped."""
        self._expected = None

    def sending(self, frame: bytes) -> None:
        """A frame is handed to the port."""
        self._sent, self.sent_ns = frame, self._wire_ns()
        self.last_byte_ns = self.sent_ns + self._bytes_ns(len(frame))

    def received(self, buffer: bytes) -> bytes:
        """
        The part of the receive buffer that may be decoded; empty where nothing may (yet).

        Args:
            buffer: All bytes since the request, not only the newest.
        """
        self.last_byte_ns = max(self.last_byte_ns, self._wire_ns())
        if self._expected is None or not self._sent or self.wrong:
            self.dropped_bytes += len(buffer)
            return b""
        answer = self._aligned(self._without_echo(buffer), self._expected)
        if answer and self._first is None:
            self._first = (self._wire_ns(), len(answer))
        if len(answer) <= self._pdu_at + 1:
            return b""
        self.wrong = self._objection(answer, self._expected)
        if self.wrong is None:
            return answer
        self._on_wrong()
        return b""

    def window(self) -> Window:
        """
        When the unit can have acted on the request, once its answer came; until now where none did.

        The byte times are taken off on a serial line. Where that leaves nothing, the port is not paced by its baud rate
        (a virtual port), and nothing is taken off.
        """
        sent_ns = self._wire_ns() if self.sent_ns is None else self.sent_ns
        if self._first is None:
            return Window(sent_ns, max(sent_ns, self._wire_ns()))
        first_ns, seen = self._first
        begin = sent_ns + self._bytes_ns(len(self._sent))
        end = first_ns - self._bytes_ns(seen)
        return Window(begin, end) if begin <= end else Window(sent_ns, first_ns)

    @property
    def answer_began(self) -> bool:
        """Whether any byte of an answer has come."""
        return self._first is not None

    def _bytes_ns(self, count: int) -> int:
        return int(count * self._byte_s * _NS)

    def _without_echo(self, buffer: bytes) -> bytes:
        if not self.echo and self._answer_is_shorter_than_echo() and buffer.startswith(self._sent):
            self.echo = True
        if not self.echo:
            incomplete = self._answer_is_shorter_than_echo() and self._sent.startswith(buffer)
            return b"" if incomplete else buffer
        if buffer.startswith(self._sent):
            return buffer[len(self._sent) :]
        return b"" if self._sent.startswith(buffer) else buffer

    def _answer_is_shorter_than_echo(self) -> bool:
        """Whether an echo of the request cannot be mistaken for an answer: only then is it believed to be one."""
        expected = self._expected
        if expected is None or expected.function not in (*_READS_BITS, *_READS_REGISTERS):
            return False
        return expected.pdu_bytes is not None and expected.pdu_bytes < 5

    def _aligned(self, buffer: bytes, expected: Expected) -> bytes:
        if expected.seek:
            return self._sought(buffer, expected)
        if self._rtu or buffer.startswith(self._sent[:4]) or len(buffer) < 4:
            return buffer
        start = buffer.find(self._sent[:4])  # our transaction, behind a late answer to another
        return buffer[start:] if start >= 0 else b""

    def _sought(self, buffer: bytes, expected: Expected) -> bytes:
        start = buffer.find(self._sent[: self._pdu_at + 3])
        if start < 0:
            refusal = bytes((expected.unit_id, expected.function | 0x80))
            start = buffer.find(refusal if self._rtu else self._sent[:4] + b"\x00\x03" + refusal)
        return buffer[start:] if start >= 0 else b""

    def _objection(self, answer: bytes, expected: Expected) -> str | None:
        unit_id, function = answer[self._pdu_at - 1], answer[self._pdu_at]
        if unit_id != expected.unit_id:
            return f"unit {unit_id} answered where unit {expected.unit_id} was asked"
        refused = function == expected.function | 0x80
        if not refused and function != expected.function:
            return f"an answer to function {function} came where function {expected.function} was asked"
        pdu_bytes = _REFUSAL_PDU_BYTES if refused else expected.pdu_bytes
        if not self._rtu and pdu_bytes is not None and int.from_bytes(answer[4:6], "big") != pdu_bytes + 1:
            return f"an answer of {int.from_bytes(answer[4:6], 'big') - 1} bytes came where {pdu_bytes} were expected"
        return None if refused else self._objection_to_body(answer, expected)

    def _objection_to_body(self, answer: bytes, expected: Expected) -> str | None:
        at = self._pdu_at
        if expected.function in _WRITES:
            known = 5 if expected.function == _WRITES[-1] else 3  # a unit that clears or clamps answers what it holds
            body, asked = answer[at : at + known], self._sent[at : at + known]
            return None if asked.startswith(body) else "the answer to a write names another point"
        if expected.function == _IDENTIFICATION:
            return None if answer[at + 1] == 0x0E else "the answer is not a device identification"
        if expected.pdu_bytes is not None and answer[at + 1] != expected.pdu_bytes - 2:
            return f"an answer with {answer[at + 1]} data bytes came where {expected.pdu_bytes - 2} were expected"
        return None
