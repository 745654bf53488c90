"""Tests of reading an instrument: its sheet, its numbers, its silence; over a pseudo-terminal and in a real process."""

import asyncio
import os
import tty
from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest
from msgspec.structs import replace

from commission.clock import Clock
from commission.content import ContentError, Text, checklists_folder
from commission.link.faults import LinkError, NoReading, NotConnected
from commission.link.meter import Meter, load_instrument, parse_instrument, reading_of
from commission.practice.process import running

SHEETS = sorted((checklists_folder() / "instruments").glob("*.toml"))
CLAMP = load_instrument(checklists_folder() / "instruments" / "m-03.toml")
GAUGE = load_instrument(checklists_folder() / "instruments" / "g-11.toml")
TEXT = (checklists_folder() / "instruments" / "m-03.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.stem)
def test_every_shipped_sheet_is_sound(path: Path) -> None:
    """It names command, pattern, unit, accuracy; and only asks."""
    sheet = load_instrument(path)
    assert sheet.id == path.stem.upper()
    assert sheet.command.endswith("?")
    assert sheet.accuracy


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("MEAS:CURR:DC?", "SOUR:CURR 0.02", "the instrument is only ever asked"),
        ("(?P<value>", "(", "a group named value"),
        ("(?P<value>", "((?P<value>", "a regular expression"),
        ('unit = "A"', 'unit = "bar"', "a unit that can be given in 'A'"),
        ("low = 0.0", "low = 0.2", "low < high"),
        ("baud = 9600", "baud = 9601", "one of 1200"),
        ("[-+]?[0-9.]", "[", "a regular expression"),
        ("accuracy = ", "acuracy = ", "did you mean 'accuracy'"),
    ],
)
def test_a_wrong_sheet_says_where(old: str, new: str, words: str) -> None:
    """Field and expectation, before any port is opened; a command that sets something is no sheet at all."""
    assert old in TEXT
    with pytest.raises(ContentError, match=words.replace("(", r"\(")):
        parse_instrument(Text("mine.toml", TEXT.replace(old, new, 1)))


@pytest.mark.parametrize(
    ("text", "ampere"),
    [("+1.234000E-02", 0.01234), ("0.01234", 0.01234), ("12.34E-3", 0.01234), ("+4E-3", 0.004), (" -0.00001 A", -1e-5)],
)
def test_numbers_of_every_form(text: str, ampere: float) -> None:
    """NR1, NR2 and NR3 of IEEE 488.2."""
    assert reading_of(CLAMP, text) == pytest.approx(ampere)


@pytest.mark.parametrize("text", ["+9.900000E+37", "-9.9E37", "9.91E+37", "", "OVLD", "----", "1.5", "1e400", "+1.2.3"])
def test_no_number_is_never_zero(text: str) -> None:
    """Overload, not-a-number, dashes, and a current that the clamp cannot show: no reading, and the text says so."""
    with pytest.raises(NoReading, match="M-03"):
        reading_of(CLAMP, text)


def test_a_unit_in_the_answer_goes_before_the_sheets() -> None:
    """A gauge set to psi says so: 1813 psi are 125 bar; one that says degrees gives no pressure."""
    named = replace(GAUGE, pattern=r"(?P<value>[-+0-9.eE]+) ?(?P<unit>[a-zA-Z]+)?")
    assert reading_of(named, "1813.0 psi") == pytest.approx(125.0e5, rel=1e-3)
    assert reading_of(named, "125.0") == pytest.approx(125.0e5)
    with pytest.raises(NoReading, match="not pressure's"):
        reading_of(named, "21.5 degC")


class Bench:
    """
    Somebody else's instrument: a pseudo-terminal that answers by a table.

    Args:
        answers: What comes back, by question; nothing where it is not there.
    """

    def __init__(self, answers: dict[bytes, bytes]) -> None:
        self._answers = answers
        self.asked: list[bytes] = []
        self._ours, self._clients = os.openpty()
        tty.setraw(self._clients)
        self.path = os.ttyname(self._clients)
        asyncio.get_running_loop().add_reader(self._ours, self._readable)

    def say(self, data: bytes) -> None:
        """Something that nobody has asked for."""
        os.write(self._ours, data)

    def close(self) -> None:
        """Gone."""
        asyncio.get_running_loop().remove_reader(self._ours)
        os.close(self._ours)
        os.close(self._clients)

    def _readable(self) -> None:
        for line in os.read(self._ours, 1000).splitlines():
            self.asked.append(line)
            if line in self._answers:
                os.write(self._ours, self._answers[line])


def at_the_bench(answers: dict[bytes, bytes], work: Callable[[Bench, Meter], Awaitable[None]]) -> None:
    """Run something against a bench, in real time."""

    async def main() -> None:
        bench = Bench(answers)
        meter = Meter(replace(CLAMP, reply_s=0.2), Clock())
        try:
            await work(bench, meter)
        finally:
            meter.close()
            bench.close()

    asyncio.run(main())


IDN = {b"*IDN?": b"SOMEBODY,CLAMP,M-03,2\n"}


def test_a_reading_keeps_its_text_and_its_time() -> None:
    """Value in ampere, what was said, and a time between question and answer."""

    async def work(bench: Bench, meter: Meter) -> None:
        assert await meter.open(bench.path) == "SOMEBODY,CLAMP,M-03,2"
        reading = await meter.read()
        assert (reading.instrument, reading.value, reading.unit) == ("M-03", 0.01234, "A")
        assert reading.text == "+1.234E-02"
        assert 0 < reading.half_width_ns < 200_000_000
        assert bench.asked == [b"*IDN?", b"MEAS:CURR:DC?"]

    at_the_bench({**IDN, b"MEAS:CURR:DC?": b"+1.234E-02\r\n"}, work)


def test_another_instrument_is_refused() -> None:
    """The gauge on the clamp's port is not read as a current."""

    async def work(bench: Bench, meter: Meter) -> None:
        with pytest.raises(NoReading, match="answers there, not M-03"):
            await meter.open(bench.path)
        with pytest.raises(NotConnected, match="not open"):
            await meter.read()

    at_the_bench({b"*IDN?": b"SOMEBODY,GAUGE,G-11,2\n"}, work)


def test_silence_and_half_an_answer_are_no_reading() -> None:
    """After the time of its sheet; what came so far is said."""

    async def silent(bench: Bench, meter: Meter) -> None:
        await meter.open(bench.path)
        with pytest.raises(NoReading, match=r"did not answer in 0\.2 s"):
            await meter.read()

    async def half(bench: Bench, meter: Meter) -> None:
        await meter.open(bench.path)
        with pytest.raises(NoReading, match=r"said b'\+1\.2'"):
            await meter.read()

    at_the_bench(IDN, silent)
    at_the_bench({**IDN, b"MEAS:CURR:DC?": b"+1.2"}, half)


def test_a_late_answer_is_not_the_next_ones() -> None:
    """What lies in the buffer when a question is asked was said before it."""

    async def work(bench: Bench, meter: Meter) -> None:
        await meter.open(bench.path)
        bench.say(b"+9.999E-03\n")
        await asyncio.sleep(0.05)
        assert (await meter.read()).value == 0.01234

    at_the_bench({**IDN, b"MEAS:CURR:DC?": b"+1.234E-02\n"}, work)


def test_a_port_that_is_not_there_is_said() -> None:
    """As a sentence with instrument and device."""

    async def main() -> None:
        with pytest.raises(NotConnected, match="M-03: no-such-port cannot be opened"):
            await Meter(CLAMP, Clock()).open("no-such-port")

    asyncio.run(main())
    assert issubclass(NoReading, LinkError)


@pytest.mark.slow
def test_the_practice_bench_is_read_over_its_terminals() -> None:
    """Clamp, gauge and calibrator of a served unit, each by its own sheet: closed FCV-2204 has 4 mA in and out."""
    with running(checklists_folder() / "units" / "fcv-2204.toml", meters=True) as unit:

        async def main() -> None:
            found = {}
            for path in SHEETS:
                meter = Meter(load_instrument(path), Clock())
                await meter.open(unit.at.meters[path.stem.upper()])
                found[path.stem] = (await meter.read()).value
                meter.close()
            assert found["m-03"] == pytest.approx(0.004, abs=2.1e-5)
            assert found["c-07"] == pytest.approx(0.004, abs=1.1e-5)
            assert found["g-11"] == pytest.approx(0.0, abs=0.5e5)

        asyncio.run(main())
