"""The field that answers are typed into: nothing is pasted where a movement is confirmed."""

import time
from collections.abc import Callable
from typing import Any

from textual import events
from textual.widgets import Input

LEAST_S = 0.05
"""A person needs longer than this for a whole confirmation; a paste into a console that does not mark it needs less."""


class AnswerField(Input):
    """
    An input that can refuse a paste (safety rule R13: paste never confirms a movement).

    Args:
        now_s: Seconds of any clock that a person's keys can be timed by.
    """

    def __init__(self, now_s: Callable[[], float] = time.monotonic, **named: Any) -> None:
        super().__init__(**named)
        self.refuses_paste = False
        self._now_s = now_s
        self._first_s: float | None = None

    @property
    def came_at_once(self) -> bool:
        """Whether what stands in the field came faster than anybody types."""
        return len(self.value) > 1 and self._first_s is not None and self._now_s() - self._first_s < LEAST_S

    def empty(self) -> None:
        """Begin anew."""
        self.clear()
        self._first_s = None

    def on_key(self, event: events.Key) -> None:
        """Note when the first letter came; the input does the rest by itself."""
        if self._first_s is None and event.is_printable:
            self._first_s = self._now_s()

    def on_paste(self, event: events.Paste) -> None:
        """Keep a paste from the input; where it is let through, the input does the rest by itself."""
        if self.refuses_paste:
            event.stop()
            event.prevent_default()
