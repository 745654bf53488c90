"""
What every screen has in common: the state line above, the key line and the stop field below, none of which is ever
hidden; a window that is too small shows only these and says so.
"""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, ClassVar, TypeVar, cast

from textual import events
from textual.app import ComposeResult
from textual.containers import Container
from textual.screen import Screen
from textual.widget import Widget

from commission.terminal import lines
from commission.terminal.widgets.lines import Key, PlainLine, fitted

if TYPE_CHECKING:
    from commission.terminal.app import CommissionApp

T = TypeVar("T")

LEAST_WIDTH, LEAST_HEIGHT = 80, 24
REDRAW_S = 0.2
"""Lines are drawn again at most five times a second."""

WALK = Key("W", "walk", 2)
"""Back to the walk."""

SIDES = (
    *(
        Key(key, label, 3, "pages")
        for key, label in (
            ("P", "points"),
            ("L", "locks"),
            ("T", "temporary"),
            ("D", "deviations"),
            ("V", "events"),
            ("R", "report"),
            ("E", "sign-off"),
        )
    ),
    Key("?", "help", 1),
)
"""Keys that lead to another screen."""

AT_UNIT = Key("H", "unit", 1)
"""To what is seen and done beside the unit; only with a practice unit that was started here."""


class Frame(Screen[T]):
    """A screen with the lines that every screen has. A screen adds its body and its own keys."""

    own_keys: ClassVar[tuple[Key, ...]] = ()
    with_sides: ClassVar[bool] = True

    @property
    def takes_letters(self) -> bool:
        """Whether letters are being typed although no field has the focus."""
        return False

    @property
    def is_here(self) -> bool:
        """Whether this screen is still there to be drawn on: what it waited for may come after somebody has left it."""
        return self in self.app.screen_stack and bool(self.children)  # an app that ends empties its screens first

    def compose(self) -> ComposeResult:
        """State line, body, key line, stop field."""
        yield PlainLine(id="state")
        with Container(id="body"):
            yield from self.body()
        yield PlainLine(id="small")
        yield PlainLine(id="keys")
        yield PlainLine(id="stop")

    def body(self) -> Iterable[Widget]:
        """What is between the lines."""
        return ()

    def on_mount(self) -> None:
        """Begin to draw the lines."""
        self.set_interval(REDRAW_S, self.draw_lines_in_turn)
        self.fit(self.size.width, self.size.height)
        self.draw_lines()

    def on_resize(self, event: events.Resize) -> None:
        """A window too small keeps only the lines."""
        self.fit(event.size.width, event.size.height)
        self.draw_lines()

    def on_screen_resume(self) -> None:
        """In sight again: the lines as they are now."""
        self.draw_lines()

    def on_descendant_focus(self) -> None:
        """Into a field: other keys work now, and the lines say so at once."""
        self.draw_lines()

    def on_descendant_blur(self) -> None:
        """Out of a field, the same."""
        self.draw_lines()

    def fit(self, width: int, height: int) -> None:
        """Hide the body where there is no room for it."""
        small = width < LEAST_WIDTH or height < LEAST_HEIGHT
        self.query_one("#body").display = not small
        line = self.query_one("#small", PlainLine)
        line.display = small
        line.show(f"Make this window at least {LEAST_WIDTH} x {LEAST_HEIGHT}; it is {width} x {height}")

    async def draw_lines_in_turn(self) -> None:
        """Draw the lines when that holds up no reading, unless another screen is in front of this one."""
        await self.shell.desk.after_a_sample()
        if self.is_active:
            self.draw_lines()

    def draw_lines(self) -> None:
        """Draw state, keys and stop field as they are now."""
        desk, width = self.shell.desk, self.size.width
        self.query_one("#state", PlainLine).show(lines.state(desk, width))
        self.query_one("#keys", PlainLine).show(fitted(self.keys_now(), width, lines.permit(desk)))
        words, moving = lines.stop(desk, field_focused=self.shell.field_focused, width=width)
        self.query_one("#stop", PlainLine).show(self.shell.stop_said or words, classes="moving" if moving else "")

    def keys_now(self) -> tuple[Key, ...]:
        """The keys that work now."""
        watching = self.shell.watching
        if watching is not None:
            return watching.keys
        if self.shell.field_focused:
            return (Key("Enter", "answers", 0), *after_escape(self.letter_keys()))
        return self.letter_keys()

    def letter_keys(self) -> tuple[Key, ...]:
        """The keys that work while no field has the focus: those of the screen, then those to other screens."""
        if not self.with_sides or self.shell.desk.visit is None:
            return self.own_keys
        return (*self.own_keys, *(() if self.shell.desk.hands is None else (AT_UNIT,)), WALK, *SIDES)

    def lead_to(self, widget: Widget) -> None:
        """
        Give a widget the focus now, before anything that was drawn with it is painted.

        `Widget.focus` waits for another turn of the app's loop: letters typed between paint and focus would be keys.
        """
        self.set_focus(widget)

    @property
    def shell(self) -> "CommissionApp":
        """The app, as itself."""
        return cast("CommissionApp", self.app)


def after_escape(keys: Sequence[Key]) -> tuple[Key, ...]:
    """The same keys for somebody in a field: letters are keys only once Esc has left it."""
    first, *others = [key for key in keys if len(key.key) == 1] or [Key("", "")]
    if not first.key:
        return (Key("Esc", "leaves the field", 0),)
    return (Key(f"Esc, then {first.key}", first.label, 0), *others)
