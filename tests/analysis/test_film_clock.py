"""The film clock: readings, check digits, elapsed time, and what a frame is worth."""

import itertools
import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.film_clock import (
    REDRAWN_S,
    ROLLS_OVER_S,
    SCREEN_REFRESH_S,
    FilmError,
    FilmReading,
    check_digits,
    elapsed_s,
    film_lines,
    read_off,
    reading_at,
)
from commission.analysis.outside_times import Source
from commission.procedures import outside_clock

READINGS = st.integers(0, round(ROLLS_OVER_S * 100) - 1).map(FilmReading)


def test_the_check_digits_are_those_of_the_standard() -> None:
    """ISO/IEC 7064:2003, MOD 97-10: 794 takes the check digits 44 (the usual example, from memory)."""
    assert check_digits("794") == "44"


@given(READINGS)
def test_a_number_with_its_check_digits_leaves_one(reading: FilmReading) -> None:
    """The definition of the standard, for every reading of the clock."""
    assert int(reading.digits + reading.check_text) % 97 == 1


@given(READINGS)
def test_what_is_shown_is_read_off_the_same(reading: FilmReading) -> None:
    """As it stands on the film, and as a hurried hand types it."""
    assert read_off(str(reading)) == reading
    assert read_off(f"  {reading.time_text.replace('.', ',')}   {reading.check_text} ") == reading


@given(READINGS, st.data())
def test_one_misread_digit_is_always_caught(reading: FilmReading, data: st.DataObject) -> None:
    """A 3 for an 8 in any place, check digits included."""
    shown = reading.digits + reading.check_text
    place = data.draw(st.integers(0, len(shown) - 1))
    wrong = data.draw(st.sampled_from("0123456789").filter(lambda digit: digit != shown[place]))
    misread = shown[:place] + wrong + shown[place + 1 :]
    with pytest.raises(FilmError):
        read_off(f"{misread[:2]}:{misread[2:4]}.{misread[4:6]} {misread[6:]}")


@given(READINGS)
def test_two_neighbours_swapped_are_always_caught(reading: FilmReading) -> None:
    """The other way in which a number is read wrongly."""
    shown = reading.digits + reading.check_text
    for place in range(len(shown) - 1):
        if shown[place] == shown[place + 1]:
            continue
        swapped = shown[:place] + shown[place + 1] + shown[place] + shown[place + 2 :]
        with pytest.raises(FilmError):
            read_off(f"{swapped[:2]}:{swapped[2:4]}.{swapped[4:6]} {swapped[6:]}")


@pytest.mark.parametrize("text", ["", "04:27.35", "81", "noon", "04:61.35 81", "4 27 35 81"])
def test_what_is_no_reading_says_how_one_looks(text: str) -> None:
    """With an example, or the seconds that cannot be."""
    with pytest.raises(FilmError, match=r"04:27.35 30|seconds"):
        read_off(text)


def test_the_example_that_is_shown_is_a_reading() -> None:
    """Whoever is asked, and whoever is told how one looks, sees one that would be taken."""
    with pytest.raises(FilmError) as told:
        read_off("noon")
    asked = outside_clock._HOW[Source.FILM]
    shown = [found for text in (str(told.value), asked) for found in re.findall(r"\d\d:\d\d\.\d\d \d\d", text)]
    assert [str(read_off(one)) for one in shown] == shown
    assert len(shown) == 2


def test_the_clock_runs_in_hundredths_and_rolls_over() -> None:
    """At 100 minutes it begins again, and a stroke across that has its length all the same."""
    assert str(reading_at(267_350_000_000)).startswith("04:27.35 ")
    assert reading_at(round(ROLLS_OVER_S * 1e9)).hundredths == 0
    assert elapsed_s(reading_at(5_996_500_000_000), reading_at(6_004_600_000_000)) == pytest.approx(8.1)


def test_a_frame_rate_of_nothing_is_refused() -> None:
    """Nothing was filmed."""
    with pytest.raises(ValueError, match="frames a second"):
        film_lines("start", 0)


def test_the_lines_are_half_widths_of_what_is_not_known() -> None:
    """Between two frames, between two drawings, and the screen's own refresh."""
    widths = [line.width for line in film_lines("start", 30.0)]
    assert widths == pytest.approx([1 / 60, REDRAWN_S / 2, SCREEN_REFRESH_S / 2])


def test_every_pair_of_digits_differs_somewhere() -> None:
    """Neighbouring readings never share their check digits: two frames cannot be taken for one another."""
    shown = [reading_at(step * 10_000_000).check_text for step in range(500)]
    assert all(one != other for one, other in itertools.pairwise(shown))
    assert math.isclose(reading_at(1_230_000_000).seconds, 1.23)
