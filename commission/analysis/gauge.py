"""
A reference gauge as it is typed once: `G-12; 0-100 bar; 0.1 bar; 0.1 bar`, number, range, last digit, accuracy.

The accuracy is read as a data sheet writes it (`accuracy.parse_accuracy`), so that percents of reading and of full
scale are taken as they are meant.
"""

import re

import msgspec

from commission.analysis.accuracy import Accuracy, AccuracyError, parse_accuracy
from commission.analysis.budget import Line, resolution

HOW = "number; range; last digit; accuracy, as: G-12; 0-100 bar; 0.1 bar; 0.1 bar"

_PA_PER_BAR = 1e5
_RANGE = re.compile(r"\s*(?P<low>[\d.,]+)\s*(?:-|to|\.\.)\s*(?P<high>[\d.,]+)\s*bar\s*")
_DIGIT = re.compile(r"\s*(?P<digit>[\d.,]+)\s*(?:bar)?\s*")


class GaugeError(ValueError):
    """The words make no gauge; the message says what was expected."""


class Gauge(msgspec.Struct, frozen=True):
    """A reference gauge in bar."""

    id: str
    accuracy: Accuracy

    def lines(self, reading_bar: float) -> tuple[Line, ...]:
        """What is unsure of a reading, in Pa: its data sheet and its last digit."""
        within = min(max(reading_bar, self.accuracy.low), self.accuracy.high)
        return self.accuracy.lines(f"gauge {self.id}", within, sensitivity=_PA_PER_BAR)

    def digit_line(self) -> Line:
        """Only what was read off, in Pa: for the difference of two readings of one place."""
        return resolution(f"gauge {self.id}, last digit", self.accuracy.resolution, _PA_PER_BAR)

    def tolerance_pa(self, reading_bar: float) -> float:
        """The bound that its data sheet promises at a reading."""
        within = min(max(reading_bar, self.accuracy.low), self.accuracy.high)
        return self.accuracy.half_width(within) * _PA_PER_BAR


def gauge_of(text: str) -> Gauge:
    """
    A gauge from what is typed.

    Raises:
        GaugeError: something is missing or not understood.
    """
    parts = [part.strip() for part in text.split(";")]
    if len(parts) != 4 or not all(parts):
        raise GaugeError(f"{text!r}: {HOW}")
    found, digit = _RANGE.fullmatch(parts[1]), _DIGIT.fullmatch(parts[2])
    if found is None or digit is None:
        raise GaugeError(f"{parts[1] if found is None else parts[2]!r} is no range or digit in bar; {HOW}")
    try:
        low, high, step = (float(word.replace(",", ".")) for word in (found["low"], found["high"], digit["digit"]))
        accuracy = parse_accuracy(parts[3], unit="bar", low=low, high=high, resolution=step)
    except (AccuracyError, ValueError) as error:
        raise GaugeError(f"{error}; {HOW}") from error
    return Gauge(parts[0], accuracy)
