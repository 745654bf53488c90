"""Help, in plain words: what each key does, what the words mean, and what this program is not."""

from collections.abc import Iterable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from commission.terminal.frame import Frame
from commission.terminal.widgets.lines import Key

TEXT = """\
KEYS
  SPACE   while the valve moves: what the bottom line says. Always first, from
          any screen. Otherwise: sends STOP. In a field, Esc comes first.
  Enter   answers, or goes on. Enter alone never starts a movement.
  Esc     out of a field, so that letters are keys again
  W walk   P points now   L locks and volumes   T temporary list
  D deviations and adjustments   R report   U who is at the keyboard
  N this step could not be done   S colours for sunlight or the dark
  G GAS ALARM: stops, records, tells everybody to leave; unplug nothing
  Q leave the job (go on later)   Ctrl-Q end the program

A MOVEMENT
  The first movement of each live period, each change of direction and each
  pause of ten minutes asks in full: how many people are counted, the
  characters of the tag plate that tell this unit apart, and who says go.
  Go and read the plate; it is not shown here. Repeats take G, and three
  seconds that any key cancels.

WORDS
  sent, answered      the line took it; that proves little
  received, moving    another point changed; only these two count
  not decided         the limit lies inside the uncertainty
  not confirmed       nobody knows: stay clear, look at the stem
  unknown             the energy state is to be proved again

AFTER A BREAK
  Every restart, closed lid, long gap or gas alarm makes the energy state
  unknown: look at the locks, read the gauges, count the people.

This is not a safety system. Site procedure, permits, local codes and licensed
people win over anything it says; a disagreement is recorded (D)."""


class HelpScreen(Frame[None]):
    """What can be done."""

    own_keys: ClassVar[tuple[Key, ...]] = (Key("Esc", "back", 0),)
    with_sides = False
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,b,enter", "back", "back", show=False)]

    def body(self) -> Iterable[Widget]:
        """The page."""
        with VerticalScroll(can_focus=True):
            yield Static(Content(TEXT), markup=False)

    def action_back(self) -> None:
        """Back to where it was asked for."""
        self.dismiss(None)
