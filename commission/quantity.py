"""
Units at the edges: what people type and what sheets are written in, to the unit the program computes in.

The unit library is asked once for each pair of units, for scale and offset, and only when a pair is first needed: it
takes longer to load than the first screen.
"""

import re
from functools import lru_cache
from typing import Any

import msgspec

_ALIASES = {
    "%": "percent",
    "1": "dimensionless",
    "": "dimensionless",
    "°C": "degC",
    "C": "degC",
    "°F": "degF",
    "F": "degF",
    "ohm": "ohm",
    "Ω": "ohm",
    "bar g": "bar",
    "barg": "bar",
    "psig": "psi",
    "N·m": "newton*meter",
    "min": "minute",
    "h": "hour",
    "deg": "degree",
}

_TYPED = re.compile(r"\s*([-+−]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*")


class UnitError(ValueError):
    """A unit that is not known, or that measures something else."""


class NumberError(ValueError):
    """A typed text that is not a number with an optional unit."""


class Conversion(msgspec.Struct, frozen=True):
    """`target = number · scale + offset`."""

    scale: float
    offset: float

    def apply(self, number: float) -> float:
        """The number in the target unit."""
        return number * self.scale + self.offset

    def undo(self, number: float) -> float:
        """The number back in the source unit."""
        return (number - self.offset) / self.scale


class Typed(msgspec.Struct, frozen=True):
    """A number as somebody typed it: the text is kept, the value is in the unit that was asked for."""

    text: str
    value: float
    unit: str


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint  # noqa: PLC0415  # 260 ms

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@lru_cache(maxsize=256)
def conversion(source: str, target: str) -> Conversion:
    """
    Scale and offset from one unit to another.

    Raises:
        UnitError: a unit is not known, or the two measure different things.
    """
    if source == target:
        return Conversion(1.0, 0.0)
    registry = _registry()
    try:
        zero, one = (
            float(registry.Quantity(number, _ALIASES.get(source, source)).to(_ALIASES.get(target, target)).magnitude)
            for number in (0.0, 1.0)
        )
    except Exception as error:
        raise UnitError(f"{source!r} cannot be given in {target!r}") from error
    return Conversion(one - zero, zero)


def parse(text: str, unit: str) -> Typed:
    """
    A number as people write it (`12,5`, `12.5 mA`, `1.2e3 psi`, `85 F`), in the unit asked for.

    A comma is a decimal comma; there is no thousands separator, because nobody can tell them apart on site.

    Raises:
        NumberError: not a number, or something follows that is not a unit.

        UnitError: the unit is not known or measures something else.
    """
    match = _TYPED.fullmatch(text)
    if match is None:
        raise NumberError(f"{text.strip()!r} is not a number; type it as 12.5 or 12,5 with a unit if it is not {unit}")
    number = float(match[1].replace(",", ".").replace("−", "-"))
    typed_unit = match[2] or unit
    return Typed(text.strip(), conversion(typed_unit, unit).apply(number), unit)
