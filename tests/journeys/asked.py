"""What a running test asks on the screen, as the name under which an answers file answers it."""

import re
from collections.abc import Iterator

from commission.analysis.protection import PROTECTIONS
from commission.analysis.wiring_contacts import Operation, operations
from commission.procedures.alarm_contact import STATES
from commission.procedures.panel_acts import _how, acts_of
from commission.procedures.span import METER, STEM
from commission.procedures.span_room import ROOM
from commission.procedures.wiring_values import READ_FROM
from commission.sheet import Sheet

_RESET = re.compile(r"Press RESET at the unit\. Still: [^(]+\(Type leave")
_SPAN = re.compile(r"([\d.]+ % \w+): (?:(stem's scale, from closed)|meter \S+ in the loop), in \w+ \(")
_ROOM = re.compile(r"[\d.]+ % \w+: the controller reads aloud value, unit and time")

_HOW = r"[^>]{0,260}?\((?:a number|Enter, then type)"
"""How a question is answered stands behind it; behind what was only called out it does not."""

_BY_PEOPLE = (
    (r"Left to itself for", "meanwhile"),
    (r"Have the valve brought", "bring"),
    (r"The selector has to stand in \w+", "selector"),
    (r"(?:at its source, as agreed|at its isolator; \w+ supply|Take all supplies)", "given"),
    (r"(?:Cause the ESD from|Press the ESD at the unit \()", "given"),
    (r"Command \w+ from panel or control room", "opposite"),
    (r"Nothing is heard of the unit", "over"),
    (r"Its time of the cause", "begun"),
    (r"Its time of the stem home", "home"),
    (r"the stem mark itself stands at", "mark"),
    (r"(?:Give the supply back|Put the cause back)", "restored"),
    (r"Before the reset somebody commands", "refused"),
    (r"Press RESET as it is pressed", "pressed"),
    (r"The stem itself went", "stem"),
    (r"(?:Bring|bring) the sensing line to", "to"),
    (r"(?:Raise|Lower) gently to", "to"),
    (r"(?:In one quick move: to|Trip it: )", "step"),
    (r"A pulse of about", "pulse"),
    (r"[Gg]auge \S+ reads, in bar", "gauge"),
    (r"(?:Now press|Press) RESET at the unit\. \((?:Or|Type)", "reset"),
    (r"The valve is NOT at its trip position", "ready"),
    (r"Shut the root valve and lock it", "root shut"),
    (r"Vent the sensing line SLOWLY", "venting"),
    (r"Pressure still bad: press RESET", "reset while bad"),
    (r"The controller sends OPEN, then RESET", "control room"),
    (r"Control power off for some seconds", "power"),
    (r"Vent shut, root valve OPEN", "sealed"),
    (r"A second person goes and looks", "second"),
    (r"one qualified person: open its loop", "loop open"),
    (r"one qualified person: short its loop", "loop shorted"),
    (r"(?:Is the loop whole|Make the loop whole again)", "loop whole"),
    *((re.escape(spec.cause[:40]), "cause it") for spec in PROTECTIONS.values()),
    *((re.escape(spec.back[:40]), "back") for spec in PROTECTIONS.values()),
    *((re.escape(spec.tries[:40]), "try") for spec in PROTECTIONS.values() if spec.tries),
    (r"It runs\. Leave it so until it acts", "watching"),
    (r"What does the unit's own panel show", "panel"),
    (r"(?:Controller, with the time of the event log|When the alarm comes: the controller)", "room"),
    *((re.escape(do[:40]), f"contact {state}") for state, do in STATES.items()),
    *((rf"{state}: volts on the contact", f"volts {state}") for state in STATES),
    *((rf"{state}: what does the control room show", f"room {state}") for state in STATES),
    (r"Join the core again, everything healthy", "contact whole"),
)
"""What fail-safe strokes, acts at the panel, protections and the pressure monitor ask."""

_TARGET = re.compile(r"to (-?[\d.]+) bar")


class Questions:
    """
    Tells the questions of procedures from each other; each is given out once, for as long as it stays open.

    Args:
        sheet: The unit's sheet: its contacts are called by name.
    """

    def __init__(self, sheet: Sheet) -> None:
        self._operations = operations(sheet)
        self._role = ""
        self._given = ""
        self._act = ""
        self._back = True
        self.target: float | None = None
        self._acts = {
            " ".join(f"{act.words} {_how(act)}".split()): act.id
            for name in ("stop", "selector", "jog")
            for act in acts_of(sheet, {"acts": name})
        }

    def over(self) -> None:
        """The test has ended: the next one may begin with the question that this one ended with."""
        self._given = ""

    def new(self, body: str) -> str | None:
        """The name of what is asked and was not given out yet; None where there is nothing of the kind."""
        found = next(self._found(body), None)
        if found is None or found[0] == self._given:
            return None
        self._given, name = found
        asked = _TARGET.search(self._given)
        self.target = None if asked is None else float(asked[1])
        if name.endswith(" there"):
            self._role = name.removesuffix(" there")
        if name in self._acts.values():
            self._act = name
        self._back = name == "restored" or (self._back and name != "given")
        return name

    def still(self, body: str) -> bool:
        """Whether the question that was given out last is open."""
        found = next(self._found(body), None)
        return found is not None and found[0] == self._given

    def _found(self, body: str) -> Iterator[tuple[str, str]]:
        """What tells the question from the one before it, and its name."""
        for operation in filter(self._is_due, self._operations):
            if f"{operation.do}. (Type done" in body:
                yield operation.id, operation.id
            if f"{operation.do}: the controller reads aloud" in body:
                yield f"{operation.id} controller", f"{operation.id} controller"
        for match in _RESET.finditer(body):
            yield match[0], "reset"
        for role, words in READ_FROM.items():
            if f"{words}, good to" in body:
                yield role, role
        for match in _SPAN.finditer(body):
            yield match[0], STEM if match[2] else METER
        for match in _ROOM.finditer(body):
            yield match[0], ROOM
        yield from self._of_people(body)

    def _of_people(self, body: str) -> Iterator[tuple[str, str]]:
        """The latest of what people are asked to do: what was asked before may still stand above it."""
        latest: tuple[int, str, str] = (-1, "", "")
        for words, name in self._acts.items():
            place = body.rfind(words)
            if place > latest[0]:
                latest = (place, words, name)
        for pattern, name in _BY_PEOPLE:
            for match in re.finditer(pattern + _HOW, body):
                if match.start() > latest[0]:
                    latest = (match.start(), match[0][:60], self._named(name))
        if latest[0] >= 0:
            yield latest[1], latest[2]

    def _named(self, name: str) -> str:
        """By the act that it belongs to, or by what went before it."""
        if name == "stem":
            return f"{self._act} stem"
        return "pressed alone" if name == "pressed" and not self._back else name

    def _is_due(self, operation: Operation) -> bool:
        """Several levers are let go in the same words: the one that was worked is meant."""
        return not operation.back or operation.role == self._role
