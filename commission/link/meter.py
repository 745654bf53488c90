"""
Reading a measuring instrument over a serial cable: a question, an answer, a number with its unit.

What to ask and how to read the answer stands in a small sheet (`checklists/instruments/*.toml`): command, pattern,
unit, accuracy. The instrument is only ever asked. Nothing here can set a source: what a calibrator puts on a command
loop moves a modulating valve, and that stays with the hand at its knob. Numbers are those of IEEE 488.2 (NR1 to NR3);
9.9E37 and 9.91E37 say "out of range" and "no number" (SCPI-1999, volume 1, 7.2.1.4 and 7.2.1.5; from memory).
"""

import math
import re
from pathlib import Path
from typing import Literal

import msgspec
import serial

from commission import quantity
from commission.clock import NS_PER_S, Clock
from commission.content import ContentError, Problem, Text, load, read_text
from commission.link.faults import LinkError, NoReading, NotConnected
from commission.sheet.bounds import NonNegative, Positive

_LOOK_EVERY_S = 0.005
_LONGEST_REPLY = 256
_INFINITE = 9.9e37
_SAME = 1e-3
_PRACTICE = "PRACTICE"
_UNIT_OF = {"current": "A", "voltage": "V", "pressure": "Pa", "resistance": "ohm", "temperature": "degC"}


class InstrumentSheet(msgspec.Struct, frozen=True, kw_only=True):
    """
    How one instrument is asked.

    Args:
        id: As on its label and certificate.

        name: What it is, and where it is connected.

        measures: What its number is.

        command: The question, without its end.

        pattern: Regular expression with a group `value`, and `unit` where the answer names one.

        unit: Of the value, where the answer names none.

        low: Lower end of its range, in `unit`.

        high: Upper end.

        accuracy: As its data sheet says, in words.

        resolution: One count, in `unit`.

        baud: Of its port, with eight data bits, no parity and one stop bit.

        reply_s: Longest it takes to answer.

        end: What ends a question and an answer.

        identity_command: Asks which instrument it is.

        identity_pattern: What the answer to that must hold; empty to ask nothing.
    """

    format: Literal[1]
    id: str
    name: str
    measures: Literal["current", "voltage", "pressure", "resistance", "temperature"]
    command: str
    pattern: str
    unit: str
    low: float
    high: float
    accuracy: str
    resolution: NonNegative = 0.0
    baud: Literal[1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200] = 9600
    reply_s: Positive = 1.0
    end: str = "\n"
    identity_command: str = "*IDN?"
    identity_pattern: str = ""

    def __post_init__(self) -> None:
        """A sheet that cannot be read by is refused where it is loaded."""
        for name in ("pattern", "identity_pattern"):
            try:
                groups = re.compile(getattr(self, name)).groupindex
            except re.error as error:
                raise ValueError(f"{name}: a regular expression ({error})") from error
            if name == "pattern" and "value" not in groups:
                raise ValueError("pattern: a group named value, as (?P<value>[-+0-9.eE]+)")
        if not self.low < self.high:
            raise ValueError("low < high")
        if not self.command.rstrip().endswith("?"):
            raise ValueError("command: a question, which ends with '?': the instrument is only ever asked")


class MeterReading(msgspec.Struct, frozen=True, kw_only=True):
    """
    One reading.

    Args:
        instrument: Its id.

        value: In `unit`.

        unit: SI unit of what it measures.

        text: What the instrument answered, as it came.

        at_ns: Midpoint between question and answer, in unit time.

        half_width_ns: Half of the time between them.
    """

    instrument: str
    value: float
    unit: str
    text: str
    at_ns: int
    half_width_ns: int


def parse_instrument(source: Text) -> InstrumentSheet:
    """
    An instrument sheet from its text.

    Raises:
        ContentError: with every mistake in it.
    """
    sheet = load(InstrumentSheet, source)
    wanted = _UNIT_OF[sheet.measures]
    try:
        quantity.conversion(sheet.unit, wanted)
    except quantity.UnitError as error:
        found = Problem(source.name, "", "unit", repr(sheet.unit), f"a unit that can be given in {wanted!r}")
        raise ContentError([found]) from error
    return sheet


def load_instrument(path: Path) -> InstrumentSheet:
    """
    The instrument sheet in a file.

    Raises:
        ContentError: with every mistake in it, or it cannot be read.
    """
    return parse_instrument(read_text(path))


def reading_of(sheet: InstrumentSheet, text: str) -> float:
    """
    The number in an answer, in the SI unit of what is measured.

    Raises:
        NoReading: no number, an overload, or a value that the instrument cannot show.
    """
    found = re.search(sheet.pattern, text)
    if found is None:
        raise NoReading(f"{sheet.id} answered {text!r}; expected a number as its sheet's pattern says")
    try:
        value = float(found["value"])
    except ValueError as error:
        raise NoReading(f"{sheet.id} answered {found['value']!r}, which is no number") from error
    if not math.isfinite(value) or abs(value) >= _INFINITE * (1 - _SAME):
        raise NoReading(f"{sheet.id} is out of its range, or has no reading: {text!r}. Look at its display")
    unit = found.groupdict().get("unit") or sheet.unit
    try:
        low, high = (quantity.conversion(sheet.unit, unit).apply(end) for end in (sheet.low, sheet.high))
    except quantity.UnitError as error:
        raise NoReading(f"{sheet.id} answered {text!r}, in a unit that is not {sheet.measures}'s") from error
    room = _SAME * (high - low)
    if not low - room <= value <= high + room:
        raise NoReading(f"{sheet.id} answered {text!r}, outside its range of {low:g} to {high:g} {unit}")
    return quantity.conversion(unit, _UNIT_OF[sheet.measures]).apply(value)


class Meter:
    """
    One instrument on a serial port.

    Args:
        sheet: How it is asked.

        clock: Wire time for waiting, unit time for the reading.

    Attributes:
        identity: What it said it is when it was opened; empty where nothing was asked.
    """

    def __init__(self, sheet: InstrumentSheet, clock: Clock) -> None:
        self.sheet = sheet
        self.identity = ""
        self._clock = clock
        self._port: serial.Serial | None = None
        self._device = ""

    async def open(self, device: str) -> str:
        """
        Open the port and see that this instrument is there; returns what it says it is.

        Raises:
            NotConnected: the port cannot be opened.

            NoReading: another instrument answers, or none.
        """
        try:
            self._port = serial.Serial(device, self.sheet.baud, timeout=0, write_timeout=self.sheet.reply_s)
        except (OSError, ValueError) as error:  # a SerialException is an OSError
            raise NotConnected(f"{self.sheet.id}: {device} cannot be opened: {error}") from error
        self._device = device
        if not self.sheet.identity_pattern:
            return ""
        try:
            said, _, _ = await self._ask(self.sheet.identity_command)
        except LinkError:
            self.close()
            raise
        if re.search(self.sheet.identity_pattern, said) is None:
            self.close()
            raise NoReading(f"{device}: {said!r} answers there, not {self.sheet.id}")
        self.identity = said
        return said

    @property
    def is_practice(self) -> bool:
        """Whether it is one of a practice unit's bench, which reads nothing of a real unit."""
        return self.identity.startswith(_PRACTICE)

    async def read(self) -> MeterReading:
        """
        Ask for one reading.

        Raises:
            NoReading: no answer in time, or none that is a number.

            NotConnected: the port is not open, or has gone.
        """
        text, asked_ns, answered_ns = await self._ask(self.sheet.command)
        return MeterReading(
            instrument=self.sheet.id,
            value=reading_of(self.sheet, text),
            unit=_UNIT_OF[self.sheet.measures],
            text=text,
            at_ns=(asked_ns + answered_ns) // 2,
            half_width_ns=(answered_ns - asked_ns + 1) // 2,
        )

    def close(self) -> None:
        """Let go of the port."""
        if self._port is not None:
            self._port.close()
            self._port = None

    async def _ask(self, question: str) -> tuple[str, int, int]:
        """One question: the answer without its end, and unit time before and after."""
        if self._port is None:
            raise NotConnected(f"{self.sheet.id} is not open")
        end = self.sheet.end.encode()
        try:
            self._port.reset_input_buffer()  # a late answer to an earlier question is not this one's
            asked_ns = self._clock.unit_ns()
            self._port.write(question.encode() + end)
            got = await self._line(end)
        except (OSError, serial.SerialException) as error:
            raise NotConnected(f"{self.sheet.id} has gone from {self._device}: {error}") from error
        return got.decode("ascii", errors="replace").strip(), asked_ns, self._clock.unit_ns()

    async def _line(self, end: bytes) -> bytes:
        """Bytes up to the answer's end."""
        if self._port is None:
            raise NotConnected(f"{self.sheet.id} is not open")
        got = b""
        ends_ns = self._clock.wire_ns() + round(self.sheet.reply_s * NS_PER_S)
        while end not in got:
            if self._clock.wire_ns() > ends_ns or len(got) > _LONGEST_REPLY:
                said = f" whole; it said {got[:40]!r}" if got else ""
                raise NoReading(
                    f"{self.sheet.id} did not answer{said} in {self.sheet.reply_s:g} s. Cable, power, speed?"
                )
            await self._clock.sleep_wire(_LOOK_EVERY_S)
            got += self._port.read(_LONGEST_REPLY)
        return got.split(end)[0]
