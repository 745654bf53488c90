"""Contrast of every theme by the formula of WCAG 2.1 (relative luminance and contrast ratio; 1.4.3, 1.4.6)."""

import pytest
from textual.color import Color
from textual.theme import Theme

from commission.terminal.theme import DARK, GREY, LIGHT, THEMES

TEXT_RATIO = 7.0
"""WCAG 2.1, 1.4.6 contrast (enhanced), level AAA."""

SIGNAL_RATIO = 4.5
"""WCAG 2.1, 1.4.3 contrast (minimum), level AA."""

SIGNALS = ("danger", "warn", "caution", "notice")


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.1 definitions."""

    def linear(share: float) -> float:
        return share / 12.92 if share <= 0.03928 else ((share + 0.055) / 1.055) ** 2.4

    parsed = Color.parse(colour)
    red, green, blue = (linear(part / 255) for part in (parsed.r, parsed.g, parsed.b))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio, WCAG 2.1 definitions."""
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def grounds(theme: Theme) -> tuple[str, ...]:
    """Everything that text stands on."""
    return tuple(colour for colour in (theme.background, theme.surface, theme.panel) if colour)


def test_the_formula_gives_the_known_ends() -> None:
    """Black on white is 21 to 1, a colour on itself 1 to 1 (WCAG 2.1 definitions)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#767676") == pytest.approx(1.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
def test_text_is_at_least_7_to_1_on_every_ground(theme: Theme) -> None:
    """Body text and labels, on the page, on a field and on the lines."""
    assert theme.foreground is not None
    for ground in grounds(theme):
        assert contrast(theme.foreground, ground) >= TEXT_RATIO, ground
    assert theme.background is not None
    assert contrast(theme.foreground, theme.background) >= TEXT_RATIO


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
@pytest.mark.parametrize("signal", [*SIGNALS, "old"])
def test_signal_words_are_at_least_4_5_to_1(theme: Theme, signal: str) -> None:
    """DANGER, WARNING, CAUTION, NOTICE, and what is struck out as old, on every ground."""
    for ground in grounds(theme):
        assert contrast(theme.variables[signal], ground) >= SIGNAL_RATIO, ground


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
def test_labels_can_be_read(theme: Theme) -> None:
    """What is said beside a field is text too."""
    assert theme.secondary is not None
    assert theme.background is not None
    assert contrast(theme.secondary, theme.background) >= TEXT_RATIO


def test_grey_has_no_hue() -> None:
    """Every colour of the theme without colour has red, green and blue alike."""
    named = [GREY.primary, GREY.secondary, GREY.warning, GREY.error, GREY.success, GREY.accent, GREY.foreground]
    for colour in (*named, *grounds(GREY), *GREY.variables.values()):
        assert colour is not None
        parsed = Color.parse(colour)
        assert parsed.r == parsed.g == parsed.b, colour


def test_signal_words_differ_where_there_is_colour() -> None:
    """Four words, four colours, in both; position has none."""
    for theme in (DARK, LIGHT):
        assert len({theme.variables[signal] for signal in SIGNALS}) == len(SIGNALS)


def test_no_theme_uses_the_palette_of_the_terminal() -> None:
    """The terminal's own palette turns black on black without colour."""
    for theme in THEMES:
        assert not theme.name.startswith("ansi")
        for colour in (*grounds(theme), *theme.variables.values()):
            assert colour.startswith("#")
