"""What people do beside the unit at certain hours: the events of a scenario, done when unit time reaches them."""

from commission.practice.acts import Act, NotDone, perform
from commission.practice.scenario import Event
from commission.practice.unit import PracticeUnit


class Day:
    """
    The events still to come.

    Args:
        unit: The unit they happen to.

        events: What happens, by the hour; an hour before the start is the next day's.
    """

    def __init__(self, unit: PracticeUnit, events: tuple[Event, ...]) -> None:
        self._unit = unit
        start_h = unit.climate.hour(unit.now_s)
        due = [((event.at_h - start_h) % 24.0 * 3600.0, event) for event in events]
        self._waiting = sorted(due, key=lambda item: item[0])

    def live(self) -> tuple[Event, ...]:
        """Do what is due; returns what was done, without what was not possible."""
        done: list[Event] = []
        while self._waiting and self._waiting[0][0] <= self._unit.now_s:
            _, event = self._waiting.pop(0)
            try:
                perform(self._unit, Act(name=event.act, value=event.value, which=event.which))
            except NotDone:
                continue
            done.append(event)
        return tuple(done)
