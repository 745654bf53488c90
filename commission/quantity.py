"""
Units at the edges: what people type and what sheets are written in, to the unit the program computes in.

The unit library is asked once for each pair of units, for scale and offset, and only when a pair is first needed: it
takes longer to load than the first screen. It is loaded at the latest with the line to a unit (`get_ready`): nothing
may wait for it while a valve moves, least of all the guards.
"""

import math
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

_DECIMAL = {
    ("%", "1"): 0.01,
    ("°C", "degC"): 1.0,
    ("C", "degC"): 1.0,
    ("bar", "Pa"): 1e5,
    ("kPa", "Pa"): 1e3,
    ("MPa", "Pa"): 1e6,
    ("mA", "A"): 1e-3,
    ("A", "mA"): 1e3,
    ("mV", "V"): 1e-3,
    ("ms", "s"): 1e-3,
    ("min", "s"): 60.0,
    ("h", "s"): 3600.0,
    ("Pa", "bar"): 1e-5,
    ("1", "%"): 100.0,
    ("1/s", "%/s"): 100.0,
    ("1/h", "%/h"): 100.0,
    ("1/K", "%/K"): 100.0,
    ("N", "kN"): 1e-3,
    ("m³/h", "mL/h"): 1e6,
}
"""What nearly every sheet is written in, so that reading one does not wait for the unit library (260 ms)."""

_TYPED_CASE = {
    "ma": "mA",
    "v": "V",
    "bar": "bar",
    "psi": "psi",
    "psig": "psig",
    "barg": "barg",
    "kpa": "kPa",
    "c": "°C",
    "f": "°F",
    "s": "s",
    "min": "min",
}
"""Units that people type in any case with gloves on, where no other case of them is likely on site."""

_TYPED = re.compile(r"([-+−]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d+)?)\s*(.*)", re.ASCII | re.DOTALL)
_THOUSANDS = re.compile(r"[-+−]?[1-9]\d{0,2},\d{3}", re.ASCII)

_WORD = r"(?:%|Ω|°?[^\W\d_]\w*)(?:(?:\^|\*\*)?-?[1-9]|[²³])?"
_UNIT = re.compile(rf"{_WORD}(?:\s?[·*/ ]\s?{_WORD}){{0,4}}")
"""What can be a unit. Nothing else reaches the library, which would work out a power of a power for minutes."""


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

    def apply_difference(self, difference: float) -> float:
        """A difference in the target unit: 50 °F of rise are 27.8 K, whatever the zero of the scale."""
        return difference * self.scale


class Typed(msgspec.Struct, frozen=True):
    """A number as somebody typed it: the text is kept, the value is in the unit that was asked for."""

    text: str
    value: float
    unit: str


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint  # noqa: PLC0415  # 260 ms

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


def get_ready() -> None:
    """Load the unit library now, so that no unit that is typed later holds anything up."""
    _registry()


@lru_cache(maxsize=256)
def conversion(source: str, target: str) -> Conversion:
    """
    Scale and offset from one unit to another.

    Raises:
        UnitError: a unit is not known, or the two measure different things.
    """
    if source == target:
        return Conversion(1.0, 0.0)
    if (source, target) in _DECIMAL:
        return Conversion(_DECIMAL[source, target], 0.0)
    refusal = f"{source!r} cannot be given in {target!r}"
    names = [_name(unit) for unit in (source, target)]
    if "" in names:
        raise UnitError(refusal)
    registry = _registry()
    try:
        zero, half, one = (
            float(registry.Quantity(number, names[0]).to(names[1]).magnitude) for number in (0.0, _FAR / 2, _FAR)
        )
    except Exception as error:
        raise UnitError(refusal) from error
    if not math.isclose(half - zero, (one - zero) / 2, rel_tol=1e-9):
        raise UnitError(f"{refusal}: one of them is a logarithm")
    return Conversion((one - zero) / _FAR, zero)


_FAR = 1024.0
"""The scale is taken far from zero, where the offset of a temperature costs it no digits."""


def _name(unit: str) -> str:
    """The unit as the library spells it; empty where it cannot be one."""
    if unit in _ALIASES:
        return _ALIASES[unit]
    return unit.replace("·", "*") if _UNIT.fullmatch(unit) else ""


def parse(text: str, unit: str) -> Typed:
    """
    A number as people write it (`12,5`, `12.5 mA`, `1.2e3 psi`, `85 F`), in the unit asked for.

    A comma is a decimal comma; there is no thousands separator, because nobody can tell them apart on site: `1.000,5`
    is refused, and so is `1,000`, which is one to some and a thousand to others.

    Raises:
        NumberError: not a number, not a finite one, one with two meanings, or something follows that is not a unit.

        UnitError: the unit is not known or measures something else.
    """
    typed = text.strip()
    match = _TYPED.fullmatch(typed)
    if match is None:
        found = f"{_cut(typed)!r} is not a number" if typed else "nothing was typed"
        raise NumberError(f"{found}; type it as 12.5 or 12,5 with a unit if it is not {unit}")
    digits, rest = match[1], match[2]
    if rest[:1] in tuple("0123456789.,'") or _THOUSANDS.fullmatch(digits):
        raise NumberError(
            f"{_cut(typed)!r} can be read in two ways; type it without a thousands separator, with a point: 1000.5"
        )
    number = float(digits.replace(",", ".").replace("−", "-"))
    value = conversion(_typed_unit(rest, unit), unit).apply(number)
    if not math.isfinite(value):
        raise NumberError(f"{_cut(typed)!r} is too large to be a measured number")
    return Typed(typed, value, unit)


def _typed_unit(typed: str, wanted: str) -> str:
    if not typed:
        return wanted
    if typed in _ALIASES:
        return typed
    if typed != "1" and not _UNIT.fullmatch(typed):
        raise NumberError(f"{_cut(typed)!r} after the number is not a unit; leave it out for {wanted}")
    return _TYPED_CASE.get(typed.lower(), typed)


def _cut(text: str) -> str:
    return text if len(text) <= 40 else text[:37] + "..."
