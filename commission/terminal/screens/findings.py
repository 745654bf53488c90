"""Practising: what the practice unit is to have. A scenario, or faults with a severity, one by one; and a seed."""

from collections.abc import Iterable
from pathlib import Path
from typing import ClassVar

from msgspec.structs import replace
from textual import on
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from commission.terminal.frame import Frame
from commission.terminal.letters import for_console
from commission.terminal.widgets.lines import Key
from commission.terminal.widgets.page import clipped
from commission.terminal.wish import Wish, Wishes

_SEED = "seed"
_USUAL_SEVERITY = "0.5"
_ROW = 70
"""Columns of a line of the list; in full it stands below."""


class FindingsScreen(Frame[None]):
    """
    Scenario, faults and seed of one practice unit.

    Args:
        tag: Of the unit.

        sheet: Its sheet.

        wishes: What can be chosen, and what was.
    """

    own_keys: ClassVar[tuple[Key, ...]] = (
        Key("Enter", "choose", 0),
        Key("C", "clear", 1),
        Key("N", "number of the seed", 2),
        Key("B", "back", 1),
    )
    with_sides = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "keys", show=False),
        Binding("b", "back", "back", show=False),
        Binding("c", "clear", "clear", show=False),
        Binding("n", "seed", "seed", show=False),
    ]
    CSS = """
    FindingsScreen #body { padding: 0 1; }
    FindingsScreen #so-far, FindingsScreen #about, FindingsScreen #asks { height: auto; }
    """

    def __init__(self, tag: str, sheet: Path, wishes: Wishes) -> None:
        super().__init__()
        self._tag, self._sheet, self._wishes = tag, sheet, wishes
        self._words: dict[str, str] = {}
        self._asked = ""

    def body(self) -> Iterable[Widget]:
        """What was chosen, what can be, and a field for its number."""
        yield Static(f"What is {self._tag} to have when you practise on it?", classes="title", markup=False)
        yield Static(id="so-far", markup=False)
        yield OptionList(id="choices", markup=False)
        yield Static(id="about", markup=False)
        yield Static(id="asks", markup=False)
        yield Input(id="number", disabled=True)
        yield Static(id="problem", markup=False)

    def on_mount(self) -> None:
        """List everything that this unit can have."""
        super().on_mount()
        listed = self.query_one("#choices", OptionList)
        kinds = (
            ("scenario", self._wishes.scenarios(self._sheet)),
            ("fault", self._wishes.faults(self._sheet)),
        )
        for kind, choices in kinds:
            for choice in choices:
                name = f"{kind} {choice.name}"
                self._words[name] = choice.words
                row = clipped(for_console(self, f"{kind:<9} {choice.name:<20} {choice.words}"), _ROW)
                listed.add_option(Option(Content(for_console(self, row)), id=name))
        listed.highlighted = 0
        self.lead_to(listed)
        self._show()

    @on(OptionList.OptionHighlighted, "#choices")
    def pointed_at(self, event: OptionList.OptionHighlighted) -> None:
        """Say in full what the bar stands on."""
        words = self._words.get(str(event.option.id), "")
        self.query_one("#about", Static).update(Content(for_console(self, words)))

    @on(OptionList.OptionSelected, "#choices")
    def chosen(self, event: OptionList.OptionSelected) -> None:
        """A scenario is taken at once; of a fault the severity is asked."""
        kind, _, name = str(event.option.id).partition(" ")
        if kind == "scenario":
            self._take(replace(self._wish, scenario=name))
        else:
            self._ask(name, f"How bad is {name}? 0 to 1, where 1 is as the line above says", _USUAL_SEVERITY)

    @on(Input.Submitted, "#number")
    def numbered(self, event: Input.Submitted) -> None:
        """The severity of a fault, or the seed."""
        number = event.value.strip().replace(",", ".")
        if self._asked == _SEED:
            if not number.isdecimal():
                self._say(f"{number!r}: expected a whole number, 0 or more")
                return
            taken = self._take(replace(self._wish, seed=int(number)))
        else:
            kept = tuple(fault for fault in self._wish.faults if fault.partition("=")[0] != self._asked)
            taken = self._take(replace(self._wish, faults=(*kept, f"{self._asked}={number}")))
        if taken:
            self._leave_field()

    def action_clear(self) -> None:
        """As its sheet says again."""
        self._take(Wish(seed=self._wish.seed))

    def action_seed(self) -> None:
        """Another run of chance: the same number repeats it."""
        self._ask(_SEED, "Number of the seed: the same number, the same noise", str(self._wish.seed))

    def action_leave(self) -> None:
        """Out of the field, or back."""
        if self.query_one("#number", Input).has_focus:
            self._leave_field()
        else:
            self.action_back()

    def action_back(self) -> None:
        """To the name and the sheet; what was chosen stays chosen."""
        self.dismiss(None)

    @property
    def _wish(self) -> Wish:
        return self._wishes.of(self._sheet)

    def _take(self, wish: Wish) -> bool:
        try:
            self._wishes.take(self._sheet, wish)
        except ValueError as error:
            self._say(str(error))
            return False
        self._say("")
        self._show()
        return True

    def _ask(self, what: str, question: str, value: str) -> None:
        self._asked = what
        self.query_one("#asks", Static).update(Content(question))
        field = self.query_one("#number", Input)
        field.disabled, field.value = False, value
        self.lead_to(field)

    def _leave_field(self) -> None:
        self._say("")
        self.query_one("#asks", Static).update("")
        field = self.query_one("#number", Input)
        self.lead_to(self.query_one("#choices", OptionList))
        field.value, field.disabled = "", True

    def _show(self) -> None:
        self.query_one("#so-far", Static).update(Content(f"Now: {self._wish.words}. B goes back and starts with it."))

    def _say(self, words: str) -> None:
        self.query_one("#problem", Static).update(Content(words))
