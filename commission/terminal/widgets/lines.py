"""The lines that every screen has: the state above, the keys and the stop field below."""

from collections.abc import Iterator, Sequence

import msgspec
from msgspec import structs
from textual.content import Content
from textual.widgets import Static


class Key(msgspec.Struct, frozen=True):
    """
    One key of the key line.

    Args:
        key: As it is pressed.

        label: What it does, one word or two.

        priority: What is left out first when the line is too short: the highest number.

        group: Keys of one group are written as one, `PLT pages`, before any key is left out; empty for none.
    """

    key: str
    label: str
    priority: int = 5
    group: str = ""


WIDE_GAP, NARROW_GAP = 3, 2


def fitted(keys: Sequence[Key], width: int, right: str = "") -> str:
    """
    The key line: whole labels only, `right` at the end.

    Where it is too short the gaps become narrow, then a group becomes one, then the least important key goes.

    Args:
        keys: In the order in which they are shown.

        width: Columns there are.

        right: Kept in any case, as the minutes to the permit's end.
    """
    room = width - (len(right) + 2 if right else 0)
    line = next((line for line in _narrower(list(keys)) if len(line) <= room), "")
    return f"{line:<{max(0, width - len(right))}}{right}" if right else line


def _narrower(keys: list[Key]) -> Iterator[str]:
    yield _joined(keys, WIDE_GAP)
    yield _joined(keys, NARROW_GAP)
    shown = _grouped(keys)
    while shown:
        yield _joined(shown, NARROW_GAP)
        shown.remove(max(shown, key=lambda key: (key.priority, shown.index(key))))


def _grouped(keys: Sequence[Key]) -> list[Key]:
    """The keys, those of one group as one where the first of them stood."""
    shown: dict[str, Key] = {}
    for key in keys:
        known = shown.get(key.group) if key.group else None
        if known is not None:
            shown[key.group] = structs.replace(known, key=known.key + key.key)
        elif key.group:
            shown[key.group] = Key(key.key, key.group, key.priority)
        else:
            shown[f"{key.key} {key.label}"] = key
    return list(shown.values())


def _joined(keys: Sequence[Key], gap: int) -> str:
    return (" " * gap).join(f"{key.key} {key.label}" for key in keys)


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
