"""Help, in plain words: first the screen it was asked from, then every key, the words, and what this program is not."""

from collections.abc import Iterable
from typing import ClassVar

import msgspec
from textual.binding import Binding, BindingType
from textual.widget import Widget

from commission.terminal.frame import Frame
from commission.terminal.widgets.lines import Key
from commission.terminal.widgets.page import Line, Page, heading, paragraph


class Own(msgspec.Struct, frozen=True):
    """What help says first for one screen: a title and a few plain sentences."""

    title: str
    words: str


HERE = {
    "JobsScreen": Own(
        "THE JOBS ON THIS LAPTOP",
        "One job is one unit, one visit, one file. Up and Down point at a job: Enter goes on with it, T re-tests its "
        "unit, L reruns its partial stroke. N starts a job. P practises, O makes one practice stroke: a practice unit "
        "is a program of its own with real physics, and nothing here can reach a real valve from it.",
    ),
    "StartScreen": Own(
        "STARTING A JOB",
        "Choose the sheet of the unit in front of you; it says what the unit is and where its points are."
        " A new job begins with an unknown energy state: the walk proves it.",
    ),
    "FindingsScreen": Own(
        "WHAT THE PRACTICE UNIT HAS",
        "A scenario is a unit on a certain day. A fault has a severity from 0 to 1; choose several, one after "
        "the other, and they act together. The seed decides over chance: the same number, the same noise.",
    ),
    "ConnectScreen": Own(
        "CONNECTING",
        "Three questions come before the first request: the address, who else is on the line, and who "
        "agrees. Only then is the unit asked who it is.",
    ),
    "MeterScreen": Own(
        "A METER BY WIRE",
        "A meter with a serial port says its own readings in M1 and M2; the record names it. In practice the unit's "
        "bench has one: Enter alone opens it. Type none, and readings are typed again.",
    ),
    "WalkScreen": Own(
        "THE WALK",
        "One step at a time, its caution first: read it aloud. What is not legal now says why, and what "
        "would settle it. If a step cannot be done, N takes the reason.",
    ),
    "PointsScreen": Own(
        "POINTS NOW",
        "What the unit says now, beside the raw registers. A value that is struck out is old: it says "
        "nothing about now. If nothing changes for 5 s although something should, all is struck out.",
    ),
    "ResultScreen": Own(
        "A RESULT",
        "The verdict, then what was measured beside what was expected. U is half of the interval in which"
        " the true value lies 95 times of 100. NOT DECIDED means that the limit lies inside it: the line "
        "Settled by says what to do.",
    ),
    "IsolationScreen": Own(
        "LOCKS AND VOLUMES",
        "Who holds which lock, and what was last seen of each trapped volume. This page repeats what "
        "people said; it sees no lock. Look at them. Spring and nitrogen stay loaded behind a gauge at "
        "zero.",
    ),
    "TemporaryScreen": Own(
        "THE TEMPORARY LIST",
        "Everything put on for a test and not yet off: jumpers, blocks, inhibits, lowered settings. A "
        "adds one, O takes one off. Choose by number, and type the parts with semicolons between them.",
    ),
    "DeviationsScreen": Own(
        "DEVIATIONS AND ADJUSTMENTS",
        "A adds what is not as it should be, C records that the owner's side accepts it, J records that "
        "something was adjusted. Before an adjustment is recorded, the screen says which results it makes"
        " void.",
    ),
    "SequenceScreen": Own(
        "WHAT HAPPENED WHEN",
        "Every input that changed and every command sent, the newest first. Each time may be off by what stands "
        "behind it; where two spans overlap, nobody knows from here which came first, and the page says so.",
    ),
    "ReportScreen": Own(
        "THE REPORT",
        "The report as it stands now; an interim one until the walk is over. F writes it as PDF beside "
        "the job file and says where.",
    ),
    "SignOffScreen": Own(
        "SIGN-OFF",
        "All that still stands against signing, the most dangerous first, each with what settles it "
        "(after >). People sign in the walk, each their own statement.",
    ),
    "MotionScreen": Own(
        "A MOVEMENT",
        "The valve moves. The bottom line says what SPACE does now; where it says that nothing stops it, keep out.",
    ),
    "WiringScreen": Own(
        "A PROOF OF WIRES AND MAP",
        "Nothing is commanded and nothing moves. What is to be worked now stands big; a beep says that something "
        "changed. Where nothing is seen, or something else, type what is asked; SPACE ends the watch.",
    ),
    "FilmClockScreen": Own(
        "THE FILM CLOCK",
        "Film this screen and the stem in one picture. Later read two frames off the film, each with the two digits "
        "below the time: they prove that it was read right. Nothing is sent from here; SPACE stops as ever.",
    ),
    "AtUnitScreen": Own(
        "AT THE PRACTICE UNIT",
        "On site you would walk to the unit now. Here you see what you would see there, and two number keys "
        "do a thing: the place, then what you do. When it is done, go back (Esc) and answer what the walk asks. "
        "Let time pass is for waits that nobody sits out in practice; the record says that they were shortened.",
    ),
}
"""By the name of the screen."""

TEXT = """\
KEYS, ONCE A JOB IS OPEN
  SPACE   while the valve moves: what the bottom line says. Always first,
          from any screen. Otherwise: sends STOP. In a field, Esc first.
  Enter   answers, or goes on. Enter alone never starts a movement.
  Esc     out of a field, so that letters are keys again; then back
  W walk   P points now   L locks and volumes   T temporary list
  D deviations and adjustments   V events   R report   E sign-off
  N this step could not be done   X another energy state, or stop a
  crossing   U somebody else is at the keyboard
  I a meter with a serial port says its own readings (M1, M2)
  H at the unit, in practice only: turn, lock, bleed, press, look
  PLTDVRE pages, in the key line: P, L, T, D, V, R and E, where all
          the words have no room
  C film clock, large, also while the valve moves: film it with the stem
  S colours for sunlight or the dark
  G GAS ALARM: stops, records, tells everybody to leave; unplug nothing
  Q leave the job (go on later)   Ctrl-Q end the program

A MOVEMENT
  The first movement of each live period, each change of direction and
  each pause of ten minutes asks in full: how many people are counted,
  the characters of the tag plate that tell this unit apart, and who says
  go. Go and read the plate; it is not shown here. A repeat takes M,
  and three seconds that any key cancels. G is never a go: it is the
  gas alarm.

WORDS
  sent, answered      the line took it; that proves little
  received, moving    another point changed; only these two count
  not decided         the limit lies inside the uncertainty
  not confirmed       nobody knows: stay clear, look at the stem
  unknown             the energy state is to be proved again

AFTER A BREAK
  Every restart, closed lid, long gap or gas alarm makes the energy state
  unknown: look at the locks, read the gauges, count the people."""

NOT_SAFETY = (
    "This is not a safety system. Site procedure, permits, local codes and licensed people win over anything it says; "
    "a disagreement is recorded (D)."
)


class HelpScreen(Frame[None]):
    """What can be done, for the screen beneath first."""

    own_keys: ClassVar[tuple[Key, ...]] = (Key("Esc", "back", 0), Key("Up/Down", "scroll", 8))
    with_sides = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,b,enter,question_mark,f1", "back", "back", show=False),
    ]

    def body(self) -> Iterable[Widget]:
        """The page."""
        yield Page(id="help", drawing=self.shell.shows.drawing)

    def on_mount(self) -> None:
        """Show it, beginning with the screen that it was asked from."""
        super().on_mount()
        below = self.shell.screen_stack[-2:-1]
        name = type(below[0]).__name__ if below else ""
        page = self.query_one(Page)
        page.focus()
        page.show(lambda width: help_lines(name, width))

    def action_back(self) -> None:
        """Back to where it was asked for."""
        self.dismiss(None)


def help_lines(screen: str, width: int) -> list[Line]:
    """Help for a screen by its name: its own lines, then all that holds everywhere."""
    lines: list[Line] = []
    if screen in HERE:
        own = HERE[screen]
        lines += [heading(own.title), *paragraph(own.words, width, "  "), ""]
    lines += [heading(line) if line.isupper() else line for line in TEXT.splitlines()]
    return [*lines, "", *paragraph(NOT_SAFETY, width)]
