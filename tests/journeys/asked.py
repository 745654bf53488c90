"""What a running test asks on the screen, as the name under which an answers file answers it."""

import re
from collections.abc import Iterator

from commission.analysis.wiring_contacts import Operation, operations
from commission.procedures.span import METER, STEM
from commission.procedures.wiring_values import READ_FROM
from commission.sheet import Sheet

_RESET = re.compile(r"Press RESET at the unit\. Still: [^(]+\(Type leave")
_SPAN = re.compile(r"([\d.]+ % \w+): (?:(stem's scale, from closed)|meter \S+ in the loop), in \w+ \(")


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

    def new(self, body: str) -> str | None:
        """The name of what is asked and was not given out yet; None where there is nothing of the kind."""
        found = next(self._found(body), None)
        if found is None or found[0] == self._given:
            return None
        self._given, name = found
        if name.endswith(" there"):
            self._role = name.removesuffix(" there")
        return name

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

    def _is_due(self, operation: Operation) -> bool:
        """Several levers are let go in the same words: the one that was worked is meant."""
        return not operation.back or operation.role == self._role
