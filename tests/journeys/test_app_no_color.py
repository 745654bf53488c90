"""NO_COLOR at a real terminal: every screen in greys alone, and every letter readable on its ground."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.journeys.hand import Hand, confirm
from tests.journeys.screen import NEEDS_TMUX, Screen
from tests.journeys.short_walk import CONFIRM
from tests.journeys.site import Desk, pause
from tests.journeys.test_app_stop import going_on, to_the_walk

pytestmark = [NEEDS_TMUX, pytest.mark.long]

LEAST_CONTRAST = 4.5
"""WCAG 2.1, success criterion 1.4.3, for text of ordinary size."""

SIDES = {
    "p": "No line to the unit", "l": "Trapped volumes", "t": "Nothing temporary", "d": "No deviation",
    "r": "As-left report", "e": "block signing", "question_mark": "KEYS",
}  # fmt: skip
_DRAWN = {" ", *map(chr, range(0x2500, 0x25A0))}
"""Frames and bars, which say nothing that a word does not."""

_PIECE = re.compile(r"\x1b\[([\d;]*)m|([^\x1b\n])")


def test_every_screen_is_grey_and_readable(screen: Callable[..., Screen], tmp_path: Path) -> None:
    """From the jobs screen through the start of a practice job to each screen beside the walk, and the unit."""
    app = screen("practice", "--out", tmp_path / "jobs", colour=False)
    check(app, "one stroke")
    app.press("p")
    check(app, "Who is at the keyboard?")
    app.type("T. Placeholder, technician")
    app.press("Enter")
    app.expect("Enter choose")
    app.press("Enter")
    check(app, "press the stop key now")
    app.press("Space")
    check(app, "Ready?")
    for key, words in SIDES.items():
        app.press("?" if key == "question_mark" else key)
        check(app, words)
    app.press("b")
    app.press("w")
    app.expect("Ready?")
    app.press("h")
    check(app, "Where do you put your hands?")


def test_from_connecting_to_a_result_all_is_grey_and_readable(
    folder: Path, unit: Callable[..., Desk], screen: Callable[..., Screen]
) -> None:
    """Connecting, what a movement is confirmed on, the running test, and its result."""
    desk = unit(speed=10.0)
    app = screen("--folder", folder, colour=False)
    to_the_walk(app)
    hand = Hand(app, going_on(desk))
    hand.until("another master", 40.0)
    check(app, "another master")
    hand.until("confirm this movement in full", 40.0)
    check(app, "confirm this movement in full")
    confirm(CONFIRM)(app)
    desk.moving()
    check(app, "SPACE stop")
    app.press("Space")
    check(app, "S T O P P E D")


def check(app: Screen, words: str) -> None:
    """What holds for the screen that shows these words."""
    app.expect(words)
    pause(0.3)
    painted = app._tmux("capture-pane", "-p", "-e", "-t", "one")
    assert not app.colours(), words
    bad = [letter for letter, ratio in letters(painted) if ratio < LEAST_CONTRAST]
    assert not bad, f"{words}: {''.join(bad)!r} cannot be read"


def letters(painted: str) -> Iterator[tuple[str, float]]:
    """Each letter that is painted in two greys, with their contrast."""
    ink, ground, reversed_ = None, None, False
    for codes, letter in _PIECE.findall(painted):
        if letter:
            if letter not in _DRAWN and ink is not None and ground is not None:
                yield letter, contrast(*((ground, ink) if reversed_ else (ink, ground)))
            continue
        parts = [int(part or 0) for part in codes.split(";")]
        while parts:
            code = parts.pop(0)
            if code in (38, 48) and parts[:1] == [2]:
                grey = parts[1]
                del parts[:4]
                ink, ground = (grey, ground) if code == 38 else (ink, grey)
            elif code == 0:
                ink, ground, reversed_ = None, None, False
            elif code in (39, 49):
                ink, ground = (None, ground) if code == 39 else (ink, None)
            elif code in (7, 27):
                reversed_ = code == 7


def contrast(one: int, other: int) -> float:
    """Contrast ratio of two greys of 0 to 255 (WCAG 2.1, definitions of relative luminance and contrast ratio)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def luminance(grey: int) -> float:
    """Relative luminance of a grey."""
    share = grey / 255
    return share / 12.92 if share <= 0.04045 else float(((share + 0.055) / 1.055) ** 2.4)


def test_the_contrast_is_that_of_the_standard() -> None:
    """Black on white is 21 to 1, and equal greys are 1 to 1: so what cannot be read is found."""
    assert contrast(0, 255) == pytest.approx(21.0)
    assert contrast(119, 255) == pytest.approx(4.48, abs=0.01)
    assert contrast(80, 80) == pytest.approx(1.0)
    assert [ratio for _, ratio in letters("\x1b[38;2;0;0;0;48;2;0;0;0mx")] == [1.0]
