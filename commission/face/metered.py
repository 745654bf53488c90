"""
The reading of a meter on its own serial line, in place of one that is typed: what a procedure asks of the meter is
asked of the instrument, once it has settled, and the record holds which instrument said it and what it sent.

Everything else is asked of people, and so is the meter's reading where the instrument gives none.
"""

import math
from collections import deque

import msgspec

from commission.clock import Clock
from commission.content import checklists_folder
from commission.link.faults import LinkError
from commission.link.meter import InstrumentSheet, Meter, MeterReading, load_instrument
from commission.procedures.requests import Answer, Ask
from commission.quantity import UnitError, conversion
from commission.supervise.surroundings import People

METER = "meter"
"""Id of the question that a meter can answer."""

SETTLED_READINGS = 3
SETTLED_SHARE = 0.0005
"""Readings in a row that lie within this share of the range are settled (common practice, no source)."""

BETWEEN_S, TRIES = 0.3, 60


class Metered:
    """
    People, and one meter that speaks for itself.

    Args:
        people: Who answers everything else.

        meter: Open.

        clock: Wire time.
    """

    def __init__(self, people: People, meter: Meter, clock: Clock) -> None:
        self._people = people
        self._meter = meter
        self._clock = clock

    async def ask(self, question: Ask) -> Answer:
        """The instrument's answer to what is asked of the meter; else, and where it gives none, people's."""
        if question.id != METER or question.kind != "number":
            return await self._people.ask(question)
        try:
            reading = await self._settled()
            value = conversion(reading.unit, question.unit or "1").apply(reading.value)
        except (LinkError, UnitError) as error:
            return await self._people.ask(msgspec.structs.replace(question, text=f"{error}. {question.text}"))
        text = f"{value:.6g} {question.unit} by wire, {reading.text.strip()!r}"
        return Answer(question.id, text, f"instrument {reading.instrument}", reading.at_ns, value)

    async def _settled(self) -> MeterReading:
        """Read until it stands still; the last reading then, or after so many tries."""
        sheet = self._meter.sheet
        scale = conversion(sheet.unit, (first := await self._meter.read()).unit)
        room = abs(scale.apply_difference((sheet.high - sheet.low) * SETTLED_SHARE))
        latest = deque([first], maxlen=SETTLED_READINGS)
        for _ in range(TRIES):
            values = [reading.value for reading in latest]
            spread = max(values) - min(values) if len(values) == SETTLED_READINGS else math.inf
            if spread <= room:
                break
            await self._clock.sleep_wire(BETWEEN_S)
            latest.append(await self._meter.read())
        return latest[-1]


def known_meters() -> tuple[InstrumentSheet, ...]:
    """The instruments that came with the program and read a current, by their ids."""
    folder = checklists_folder() / "instruments"
    sheets = (load_instrument(path) for path in sorted(folder.glob("*.toml")))
    return tuple(sheet for sheet in sheets if sheet.measures == "current")


async def opened_meter(named: str, clock: Clock) -> Meter:
    """
    The meter that somebody names, open.

    Args:
        named: `ID=DEVICE`, as `M-03=/dev/ttyUSB1`; the id is that of an instrument sheet that came with the program.

        clock: Wire time and unit time.

    Raises:
        ValueError: it is not named so, or there is no such sheet.

        ContentError: its sheet is not sound.

        LinkError: it does not answer there.
    """
    name, _, device = named.partition("=")
    path = checklists_folder() / "instruments" / f"{name.lower()}.toml"
    if not device or not path.is_file():
        known = ", ".join(sorted(found.stem.upper() for found in path.parent.glob("*.toml")))
        raise ValueError(f"{named!r}: expected ID=DEVICE, as M-03=/dev/ttyUSB1, with the id one of {known}")
    meter = Meter(load_instrument(path), clock)
    await meter.open(device)
    return meter
