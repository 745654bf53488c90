"""
An expected figure as it is told: value and unit, where it comes from, and what a sheet would have to say for it.

Values are in the unit that the trade reads them in; `in_us_units` gives the other system's. The text has as many digits
as the computation deserves, never an exponent.
"""

import math
from collections.abc import Iterator

import msgspec

from commission import quantity

_US = {
    "bar": "psi", "L": "gal", "mL": "in³", "cm²": "in²", "mm": "in", "kN": "lbf", "N·m": "lbf·ft", "°C": "°F",
    "L/min": "gal/min", "bar/K": "psi/°F", "K": "°F (difference)", "m/s": "ft/s", "N/mm": "lbf/in",
}  # fmt: skip
"""What a reader of US units sees instead; other units are the same there."""

_SPELLED = {
    "in³": "inch^3", "in²": "inch^2", "in": "inch", "lbf·ft": "ft*lbf", "gal": "gallon", "gal/min": "gallon/minute",
    "L/min": "L/min", "cm²": "cm^2", "N/mm": "N/mm", "lbf/in": "lbf/inch",
}  # fmt: skip


class Expectation(msgspec.Struct, frozen=True, kw_only=True):
    """
    One expected figure.

    Args:
        id: Dotted name, as `stroke.closing.time`.

        name: What it is, in words.

        value: In `unit`; infinite where a stroke does not get there.

        unit: As it is printed.

        digits: Significant digits that are printed; 0 for a count, which is printed whole.

        origin: Where it comes from.

        note: What a reader has to know, or how it stands beside a setting.
    """

    id: str
    name: str
    value: float
    unit: str
    digits: int = 3
    origin: str
    note: str = ""

    @property
    def text(self) -> str:
        """Value and unit as printed."""
        if math.isinf(self.value):
            return "never"
        return f"{plain(self.value, self.digits)} {self.unit}".rstrip()

    def in_us_units(self) -> "Expectation":
        """The same in US customary units."""
        target = _US.get(self.unit)
        if target is None or math.isinf(self.value):
            return self
        value = _converted(self.value, self.unit, target)
        # 70.8 bar are 1027 psi: as many digits would say 1030, which no gauge on a nitrogen bottle is read to.
        coarser = target == "psi" and _last_place(value, self.digits) > 2 * _last_place(self.value, self.digits)
        return msgspec.structs.replace(self, value=value, unit=target, digits=self.digits + coarser)


def _last_place(value: float, digits: int) -> float:
    """One of the last printed digit as a share of the value; 0 for nothing."""
    return 10.0 ** (math.floor(math.log10(abs(value))) - digits + 1) / abs(value) if value else 0.0


class Lack(msgspec.Struct, frozen=True):
    """A field that the sheet leaves out, and what cannot be said for want of it."""

    field: str
    for_what: str


class Topic(msgspec.Struct, frozen=True):
    """What is expected under one heading, and what the sheet lacks for more."""

    title: str
    expected: tuple[Expectation, ...] = ()
    lacks: tuple[Lack, ...] = ()

    def find(self, name: str) -> Expectation | None:
        """The figure of an id, or None."""
        return next((figure for figure in self.expected if figure.id == name), None)


class Gathering:
    """
    A topic while it is put together.

    Args:
        title: Its heading.
    """

    def __init__(self, title: str) -> None:
        self._title = title
        self._expected: list[Expectation] = []
        self._lacks: list[Lack] = []

    def add(
        self, name_id: str, name: str, value: float | None, unit: str, origin: str, *, digits: int = 3, note: str = ""
    ) -> None:
        """A figure; nothing where the value is None."""
        if value is not None:
            self._expected.append(
                Expectation(id=name_id, name=name, value=value, unit=unit, digits=digits, origin=origin, note=note)
            )

    def lack(self, field: str, for_what: str) -> None:
        """A field that would be needed."""
        self._lacks.append(Lack(field, for_what))

    def needs(self, for_what: str, **fields: object) -> bool:
        """Whether all these fields are there; those that are not are noted, `__` standing for a dot."""
        missing = [name.replace("__", ".") for name, value in fields.items() if value is None]
        for name in missing:
            self.lack(name, for_what)
        return not missing

    @property
    def topic(self) -> Topic:
        """All of it."""
        return Topic(self._title, tuple(self._expected), tuple(self._lacks))


def plain(value: float, digits: int) -> str:
    """Decimal text with so many significant digits, without exponent; as a whole number where digits is 0."""
    if digits == 0 and math.isfinite(value):
        return f"{value:.0f}"
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else str(value)
    places = digits - 1 - math.floor(math.log10(abs(value)))
    rounded = round(value, places)
    if abs(rounded) >= 10 ** (math.floor(math.log10(abs(value))) + 1):
        places -= 1
    return f"{rounded:.{max(0, places)}f}"


def all_of(topics: tuple[Topic, ...]) -> Iterator[Expectation]:
    """Every figure of every topic."""
    for topic in topics:
        yield from topic.expected


def _converted(value: float, unit: str, target: str) -> float:
    if unit == "kN":
        return quantity.conversion("N", "lbf").apply(value * 1000)
    if unit == "K":
        return value * 1.8
    if unit == "bar/K":
        return quantity.conversion("bar", "psi").apply(value) / 1.8
    return quantity.conversion(_SPELLED.get(unit, unit), _SPELLED.get(target, target)).apply(value)
