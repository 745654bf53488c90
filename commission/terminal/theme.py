"""
Colours: dark, light with high contrast, and one that is only grey.

A colour repeats what a word says, never more (safety words by ANSI Z535.4: red, orange, yellow, blue; IEC 60073). Valve
position has no colour at all. No theme uses the terminal's own palette, which turns black on black without colour.
"""

from textual.theme import Theme

DARK = Theme(
    name="dark-ground",
    primary="#8fb8de",
    secondary="#9aa5b1",
    warning="#ffb000",
    error="#ff6b5e",
    success="#d8dee6",
    accent="#8fb8de",
    foreground="#e8edf2",
    background="#101418",
    surface="#171c22",
    panel="#222a33",
    dark=True,
    variables={"danger": "#ff6b5e", "warn": "#ff9f45", "caution": "#ffd84d", "notice": "#7fb3ff", "old": "#8b96a3"},
)
"""For a cabin or the dark."""

LIGHT = Theme(
    name="sun",
    primary="#003a70",
    secondary="#30363c",
    warning="#7a4b00",
    error="#a30000",
    success="#101418",
    accent="#003a70",
    foreground="#000000",
    background="#ffffff",
    surface="#ffffff",
    panel="#e6e9ec",
    dark=False,
    variables={"danger": "#a30000", "warn": "#8a4100", "caution": "#6b5300", "notice": "#003a8c", "old": "#5a636c"},
)
"""For sunlight."""

GREY = Theme(
    name="grey",
    primary="#ffffff",
    secondary="#c8c8c8",
    warning="#ffffff",
    error="#ffffff",
    success="#ffffff",
    accent="#ffffff",
    foreground="#ffffff",
    background="#000000",
    surface="#000000",
    panel="#303030",
    dark=True,
    variables={"danger": "#ffffff", "warn": "#ffffff", "caution": "#ffffff", "notice": "#ffffff", "old": "#a8a8a8"},
)
"""Without colour: words carry everything."""

THEMES = (DARK, LIGHT, GREY)
"""Every theme of the app."""
