"""
What an instrument's data sheet says of its accuracy, as typed: `0.2 % rdg + 0.05 % FS + 2 counts + 0.01 %/K`.

`parse_accuracy` reads the usual spellings; `Accuracy.half_width` is the bound at a reading, `Accuracy.lines` are its
lines in an uncertainty budget. A data sheet's terms add up as they stand: it promises a bound, not a deviation.
"""

import math
import re

import msgspec

from commission import quantity
from commission.analysis.budget import Line, rectangular, resolution


class AccuracyError(ValueError):
    """A text that is no accuracy, or one that cannot be used for this range; the message says what was expected."""


class OutsideRange(ValueError):  # the same
    """A reading that the instrument cannot show, so its data sheet promises nothing for it."""


class Accuracy(msgspec.Struct, frozen=True, kw_only=True):
    """
    An instrument's accuracy, typed. All in `unit` but shares and counts.

    Args:
        text: As it was written.

        unit: Of range, resolution and absolute terms.

        low: Lower end of the range.

        high: Upper end of the range.

        resolution: One count, the last digit that the instrument shows; 0 where it shows none (a dial, a transmitter).

        of_reading: Share of the reading: 0.002 for 0.2 % rdg.

        of_full_scale: Share of the larger end of the range: 20 mA for 4 to 20 mA.

        of_span: Share of the range's width: 16 mA for 4 to 20 mA.

        counts: Number of last digits.

        absolute: In `unit`.

        per_kelvin: Terms of the temperature coefficient, each per kelvin away from the reference: of the reading, of
            full scale, of span, absolute.

        reference_low_c: Lower end of the temperatures for which the basic terms hold, °C.

        reference_high_c: Upper end of them.

        assumed: What was taken where the text left it open; empty where it did not.
    """

    text: str
    unit: str
    low: float
    high: float
    resolution: float = 0.0
    of_reading: float = 0.0
    of_full_scale: float = 0.0
    of_span: float = 0.0
    counts: float = 0.0
    absolute: float = 0.0
    per_kelvin: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    reference_low_c: float = 18.0
    reference_high_c: float = 28.0
    assumed: str = ""

    def half_width(self, value: float, temperature_c: float | None = None) -> float:
        """
        The bound of the error at a reading, in `unit`.

        Args:
            value: The reading.

            temperature_c: The instrument's own temperature; None takes it within the reference temperatures.

        Raises:
            OutsideRange: the reading is outside the range.

        Source: JCGM 100:2008, 4.3.7, example 2 (terms of a specification added as they stand).
        """
        return self._basic(value) + self._by_temperature(value, temperature_c)

    def lines(
        self, name: str, value: float, *, temperature_c: float | None = None, sensitivity: float = 1.0
    ) -> tuple[Line, ...]:
        """
        Lines of a budget: the specification, the temperature where it adds something, the last digit.

        Raises:
            OutsideRange: the reading is outside the range.
        """
        found = [rectangular(f"{name}, {self.text}", self._basic(value), sensitivity)]
        by_temperature = self._by_temperature(value, temperature_c)
        if by_temperature:
            found.append(rectangular(f"{name}, at {temperature_c:g} °C", by_temperature, sensitivity))
        if self.resolution:
            found.append(resolution(f"{name}, last digit", self.resolution, sensitivity))
        return tuple(found)

    def _basic(self, value: float) -> float:
        if not self.low <= value <= self.high:
            raise OutsideRange(f"{value:g} {self.unit} is outside the instrument's {self.low:g} to {self.high:g}")
        shares = (self.of_reading, self.of_full_scale, self.of_span, self.absolute)
        return math.fsum([*self._shares(shares, value), self.counts * self.resolution])

    def _by_temperature(self, value: float, temperature_c: float | None) -> float:
        if temperature_c is None:
            return 0.0
        away = max(self.reference_low_c - temperature_c, temperature_c - self.reference_high_c, 0.0)
        return away * math.fsum(self._shares(self.per_kelvin, value))

    def _shares(self, shares: tuple[float, float, float, float], value: float) -> tuple[float, ...]:
        full_scale = max(abs(self.low), abs(self.high))
        of = (abs(value), full_scale, self.high - self.low, 1.0)
        return tuple(share * whole for share, whole in zip(shares, of, strict=True))


_NUMBER = r"\d+(?:[.,]\d*)?|[.,]\d+"
_PER_KELVIN = re.compile(r"(?:/|\bper\b)\s*(?P<step>\d+)?\s*(?:k|kelvin|°\s?c|deg\s?c|°\s?f|deg\s?f)\.?$")
_TERM = re.compile(rf"(?P<number>{_NUMBER})\s*(?P<rest>.*)", re.DOTALL)
_PARTS_PER_MILLION = 1e-6

_READING = {"rdg", "rdg.", "reading", "readings", "o.r.", "mv", "m.v.", "measured value", "value", "of reading", "rd"}
_FULL_SCALE = {"fs", "f.s.", "f.s", "full scale", "fsd", "fso", "range", "rng", "range value", "end value", "url"}
_SPAN = {"span", "sp", "calibrated span", "of span"}
_COUNTS = {"count", "counts", "cts", "ct", "digit", "digits", "dgt", "dgts", "dgt.", "d", "lsd", "lsb"}

_EXPECTED = "write it as on the data sheet, such as 0.2 % rdg + 0.05 % FS + 2 counts + 0.01 %/K"


def parse_accuracy(
    text: str,
    *,
    unit: str,
    low: float,
    high: float,
    resolution: float = 0.0,
    reference_c: tuple[float, float] = (18.0, 28.0),
) -> Accuracy:
    """
    The accuracy that a data sheet's words mean, for one range of the instrument.

    Understood: `0.2 % rdg`, `0.2 % of reading`, `0.05 % FS`, `0.05 % of span`, `2 counts`, `2 digits`, `0.5 °C`,
    `50 ppm rdg`, `class 0.5`, `0.01 %/K`, `0.01 % FS per 10 K`, with `+`, `±`, brackets and a decimal comma. A per cent
    without "of what" is taken of full scale, the largest that it can mean, and said so in `assumed`.

    Args:
        text: As written; the basic terms and the temperature coefficient, if any.

        unit: Of the range, as `mA`.

        low: Lower end of the range.

        high: Upper end of the range.

        resolution: The last digit shown, in `unit`; needed where the text speaks of counts.

        reference_c: Temperatures for which the basic terms hold.

    Raises:
        AccuracyError: the range is empty, a term is not understood, or counts are given without a last digit.
    """
    if not (math.isfinite(low) and math.isfinite(high) and low < high):
        raise AccuracyError(f"a range from a lower to a higher value, not {low:g} to {high:g} {unit}")
    if not (math.isfinite(resolution) and resolution >= 0):
        raise AccuracyError(f"the last digit shown is zero or more, not {resolution:g} {unit}")
    terms = _terms(text)
    basic = dict.fromkeys(("reading", "full scale", "span", "absolute", "counts"), 0.0)
    per_kelvin = dict.fromkeys(("reading", "full scale", "span", "absolute"), 0.0)
    assumed: list[str] = []
    for term in terms:
        amount, kind, by_temperature = _term(term, unit, text, assumed)
        if by_temperature and kind == "counts":
            raise AccuracyError(f"{term!r} in {text!r}: counts per degree are not understood; {_EXPECTED}")
        (per_kelvin if by_temperature else basic)[kind] += amount
    if basic["counts"] and not resolution:
        raise AccuracyError(f"{text!r} speaks of counts: the last digit that the instrument shows is needed too")
    if not any(basic.values()):
        raise AccuracyError(f"{text!r} gives no accuracy, only a temperature coefficient; {_EXPECTED}")
    return Accuracy(
        text=text.strip(),
        unit=unit,
        low=low,
        high=high,
        resolution=resolution,
        of_reading=basic["reading"],
        of_full_scale=basic["full scale"],
        of_span=basic["span"],
        counts=basic["counts"],
        absolute=basic["absolute"],
        per_kelvin=(per_kelvin["reading"], per_kelvin["full scale"], per_kelvin["span"], per_kelvin["absolute"]),
        reference_low_c=min(reference_c),
        reference_high_c=max(reference_c),
        assumed="; ".join(dict.fromkeys(assumed)),
    )


_BRACKET = re.compile(r"\(([^()]*)\)\s*((?:/|per\b)[^+]*)?")


def _terms(text: str) -> list[str]:
    """The terms of the text; what stands after a bracket, as in `(0.01 % rdg + 1 mV)/K`, goes to each of its terms."""
    plain = text.replace("±", "+").replace("+/-", "+").replace("&", "+").replace("−", "-").strip()

    def spread(match: re.Match[str]) -> str:
        after = match[2] or ""
        return " + ".join(f"{part} {after}".strip() for part in match[1].split("+") if part.strip())

    plain = _BRACKET.sub(spread, plain)
    if "(" in plain or ")" in plain:
        raise AccuracyError(f"the brackets in {text!r} do not pair; {_EXPECTED}")
    terms = [term.strip() for term in re.split(r"\+|;|\band\b|\bplus\b|(?<!\d),|,(?!\d)", plain) if term.strip()]
    if not terms:
        raise AccuracyError(f"no accuracy was typed; {_EXPECTED}")
    return terms


def _term(term: str, unit: str, text: str, assumed: list[str]) -> tuple[float, str, bool]:
    """Amount, of what, and whether it is per kelvin."""
    words = term.lower().strip()
    by_temperature = _PER_KELVIN.search(words)
    kelvins = 1.0
    if by_temperature:
        kelvins = float(by_temperature["step"] or 1)
        kelvins *= 5 / 9 if by_temperature[0].rstrip(".").endswith("f") else 1
        if kelvins == 0:
            raise AccuracyError(f"{term!r} in {text!r}: per zero degrees; {_EXPECTED}")
        words = words[: by_temperature.start()].strip()
    if words.startswith(("class", "cl.", "cl ")):
        words = words.split(maxsplit=1)[-1] + " % span"
    match = _TERM.fullmatch(words)
    if match is None:
        raise AccuracyError(f"{term!r} in {text!r} does not begin with a number; {_EXPECTED}")
    number = float(match["number"].replace(",", ".")) / kelvins
    amount, kind = _amount(number, match["rest"].strip(), term, text, unit, assumed)
    return amount, kind, by_temperature is not None


def _amount(number: float, rest: str, term: str, text: str, unit: str, assumed: list[str]) -> tuple[float, str]:
    for sign, share in (("%", 0.01), ("percent", 0.01), ("per cent", 0.01), ("ppm", _PARTS_PER_MILLION)):
        if rest.startswith(sign):
            return number * share, _of_what(rest.removeprefix(sign), term, text, assumed)
    if rest in _COUNTS:
        return number, "counts"
    if not rest:
        raise AccuracyError(f"{term!r} in {text!r} has no unit; {_EXPECTED}")
    # The unit keeps its capitals: mV and MV are not the same.
    typed = term[term.lower().index(rest) :][: len(rest)]
    try:
        return quantity.conversion(typed, unit).apply_difference(number), "absolute"
    except quantity.UnitError:
        raise AccuracyError(
            f"{term!r} in {text!r}: {typed!r} is neither %, ppm, counts nor a unit for {unit}; {_EXPECTED}"
        ) from None


def _of_what(words: str, term: str, text: str, assumed: list[str]) -> str:
    plain = words.strip().removeprefix("of").strip().removeprefix("the").strip()
    for kind, names in (("reading", _READING), ("full scale", _FULL_SCALE), ("span", _SPAN)):
        if plain in names:
            return kind
    if plain:
        raise AccuracyError(f"{term!r} in {text!r}: per cent of what? rdg (reading), FS (full scale) or span")
    assumed.append(f"{term} taken of full scale, the largest that it can mean")
    return "full scale"
