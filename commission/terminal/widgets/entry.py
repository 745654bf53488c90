"""A line that is typed into without any field having the focus, for screens that show a motion: the stop key stays."""

from textual.content import Content
from textual.events import Key
from textual.widgets import Static

from commission.terminal.letters import for_console

_MOST = 60


class Entry(Static):
    """Collects the keys that its screen hands over; never takes the focus."""

    DEFAULT_CSS = "Entry { height: auto; }"

    def __init__(self, id: str) -> None:  # noqa: A002  # Textual's own name
        super().__init__(id=id, markup=False)
        self.value = ""
        self.is_open = False

    def open(self) -> None:
        """Begin an empty line."""
        self.is_open, self.display = True, True
        self._put("")

    def close(self) -> None:
        """Nothing is typed here."""
        self.is_open, self.display = False, False
        self._put("")

    def take(self, event: Key) -> bool:
        """Whether a key belongs to the line: a printable character, or backspace."""
        if not self.is_open:
            return False
        if event.key == "backspace":
            self._put(self.value[:-1])
        elif event.is_printable and event.character and event.character != " " and len(self.value) < _MOST:
            self._put(self.value + event.character)
        else:
            return False
        return True

    def note(self, words: str) -> None:
        """What stands behind the line, as how a number is understood."""
        self.update(Content(for_console(self, f"> {self.value}_  {words}".rstrip())))

    def _put(self, text: str) -> None:
        self.value = text
        self.note("")
