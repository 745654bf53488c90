"""The lines that every screen has: the state above, the keys and the stop field below."""

from collections.abc import Sequence

import msgspec
from textual.content import Content
from textual.widgets import Static


class Key(msgspec.Struct, frozen=True):
    """
    One key of the key line.

    Args:
        key: As it is pressed.

        label: What it does, one word or two.

        priority: What is left out first when the line is too short: the highest number.
    """

    key: str
    label: str
    priority: int = 5


def fitted(keys: Sequence[Key], width: int, right: str = "") -> str:
    """
    The key line: whole labels only, the least important left out first, `right` at the end.

    Args:
        keys: In the order in which they are shown.

        width: Columns there are.

        right: Kept in any case, as the minutes to the permit's end.
    """
    shown = list(keys)
    room = width - (len(right) + 2 if right else 0)
    while shown and len(_joined(shown)) > room:
        shown.remove(max(shown, key=lambda key: (key.priority, shown.index(key))))
    line = _joined(shown)
    return f"{line:<{max(0, width - len(right))}}{right}" if right else line


def _joined(keys: Sequence[Key]) -> str:
    return "   ".join(f"{key.key} {key.label}" for key in keys)


class PlainLine(Static):
    """One line of foreign text, never read as markup, cut to the width."""

    _shown = ("", "")

    def show(self, text: str, *, classes: str = "") -> None:
        """Show a text; one that is shown already costs nothing, and no text changes where anything stands."""
        shown = (text[: self.size.width or 80], classes)
        if shown != self._shown:
            self._shown = shown
            self.update(Content(shown[0]), layout=False)
            self.set_classes(classes)
