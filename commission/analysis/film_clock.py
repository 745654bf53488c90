"""
The film clock: a running clock with a check pattern, filmed together with the stem (safety rule R19).

Somebody films the laptop's screen and the stem in one picture. Later two frames are read off: the one in which the
cause or the first motion shows, and the one in which the stem is home. Each shows a reading as `04:27.35 30`; the two
digits at its end prove that it was read right, so a 3 taken for an 8 on a wet screen is refused, not measured.
"""

import re

import msgspec

from commission.analysis.budget import Line, rectangular

REDRAWN_S = 0.05
"""The clock is drawn anew this often: a frame shows a time that is up to so much old."""

SCREEN_REFRESH_S = 1 / 60
"""What a screen adds between drawing and light (common practice, no source)."""

ROLLS_OVER_S = 6000.0
"""After 99:59.99 it begins again: two readings belong to one run of at most a hundred minutes."""

_MODULUS = 97
_READING = re.compile(r"(\d{1,2})[:.]?(\d{2})[.,]?(\d{2})\s+(\d{2})")


class FilmError(ValueError):
    """No reading of the film clock, or one that was not read right; the message says which."""


class FilmReading(msgspec.Struct, frozen=True):
    """
    What the clock shows at one moment.

    Args:
        hundredths: Of a second, since the clock began or rolled over.
    """

    hundredths: int

    @property
    def digits(self) -> str:
        """Minutes, seconds and hundredths, as `042735`."""
        minutes, rest = divmod(self.hundredths, 6000)
        return f"{minutes:02d}{rest // 100:02d}{rest % 100:02d}"

    @property
    def time_text(self) -> str:
        """As `04:27.35`."""
        digits = self.digits
        return f"{digits[:2]}:{digits[2:4]}.{digits[4:]}"

    @property
    def check_text(self) -> str:
        """Its two check digits."""
        return check_digits(self.digits)

    @property
    def seconds(self) -> float:
        """Since the clock began or rolled over."""
        return self.hundredths / 100

    def __str__(self) -> str:
        return f"{self.time_text} {self.check_text}"


def check_digits(digits: str) -> str:
    """
    Two digits that change with any single wrong digit and with any two neighbours swapped.

    Source: ISO/IEC 7064:2003, MOD 97-10 (from memory): the number with them appended leaves 1 when divided by 97.
    """
    return f"{(1 - int(digits) * 100) % _MODULUS:02d}"


def reading_at(elapsed_ns: int) -> FilmReading:
    """What the clock shows so long after it began, in nanoseconds."""
    return FilmReading(elapsed_ns // 10_000_000 % round(ROLLS_OVER_S * 100))


def read_off(text: str) -> FilmReading:
    """
    The reading that somebody typed.

    Raises:
        FilmError: it is none, or its check digits do not fit it.
    """
    match = _READING.fullmatch(text.strip())
    if match is None:
        raise FilmError(f"{text.strip()!r} is no reading of the film clock; as it stands there: 04:27.35 30")
    minutes, seconds, hundredths, check = match.groups()
    if int(seconds) > 59:
        raise FilmError(f"{text.strip()!r} has {seconds} seconds: look at the frame again")
    reading = FilmReading((int(minutes) * 60 + int(seconds)) * 100 + int(hundredths))
    if reading.check_text != check:
        raise FilmError(f"{reading.time_text} does not go with {check}: a digit was misread, look at the frame again")
    return reading


def elapsed_s(first: FilmReading, second: FilmReading) -> float:
    """From one reading to a later one, in seconds, over a roll-over where there was one."""
    return (second.hundredths - first.hundredths) % round(ROLLS_OVER_S * 100) / 100


def film_lines(which: str, frames_per_s: float) -> tuple[Line, ...]:
    """
    What is not known of the moment of one reading, in seconds.

    Args:
        which: `start` or `end`, for the names of the lines.

        frames_per_s: Of the film: the event lies between two frames.

    Raises:
        ValueError: the frame rate is not above zero.
    """
    if not frames_per_s > 0:
        raise ValueError(f"frames a second above zero, not {frames_per_s:g}")
    return (
        rectangular(f"{which}: time between two frames", 1 / frames_per_s / 2),
        rectangular(f"{which}: clock drawn anew", REDRAWN_S / 2),
        rectangular(f"{which}: refresh of the screen", SCREEN_REFRESH_S / 2),
    )
