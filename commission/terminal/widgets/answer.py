"""The field that answers are typed into: nothing is pasted where a movement is confirmed."""

from textual import events
from textual.widgets import Input


class AnswerField(Input):
    """An input that can refuse a paste (safety rule R13: paste never confirms a movement)."""

    refuses_paste: bool = False

    def _on_paste(self, event: events.Paste) -> None:
        if self.refuses_paste:
            event.stop()
            event.prevent_default()
            return
        super()._on_paste(event)
