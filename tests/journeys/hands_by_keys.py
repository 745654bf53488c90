"""Somebody's hands at the practice unit, by keys: acts through the app's screen for them, readings off that screen."""

import re
from collections.abc import Sequence

from commission.cli.answers_file import SiteAct
from commission.face.at_unit import LOOKS, WAIT_ACT, Doing, places
from commission.practice.site import JOG, JOGS, SiteDesk
from commission.practice.unit import PracticeUnit
from commission.sheet import Sheet
from tests.journeys.screen import Screen
from tests.journeys.site import pause

PATIENT_S = 15.0
"""So long somebody waits while a test runs, before they let time pass, which a test that only waits admits."""

LONGEST_JOG_S = 0.1
"""Between the two keys of a short jog, in wire time: what a busy machine adds to it, the valve moves on."""

PAINTED_S = 0.7
"""Time for a list to be painted and looked at once more, before somebody believes that something is not in it."""

_AT_END_DEG = 2.0
_HERE = "You stand at the practice unit"
RESULT = "Enter go on"
_PLACES = "Where do you put your hands?"

_READ = {
    "stem": r"Stem mark\s+(-?[\d.]+)",
    "meter": r"Meter\s+([\d.]+) V",
    "line_gauge": r"Instruments\s+([\d.]+) bar",
    "thermometer": r"([\d.]+) °C in the oil",
    "clamp": r"Clamp\s+([\d.]+) mA",
    "recorder.cause": r"cause ([\d.]+) s",
    "recorder.home": r"home ([\d.]+) s",
    "level": r"Tank\s+([\d.]+) litres",
    "precharge": r"Nitrogen\s+([\d.]+) bar",
    "alarm_volts": r"([\d.]+) V on the alarm loop",
    "alarm_age": r"(?:no alarm|contact open\)) for ([\d.]+) s",
    "panel.alarm": r"(ALARM lit|power on|dark)",
    "control_room.feedback_ma": r"feedback ([\d.]+) mA",
}
"""Where a reading stands on the screen."""

_STOP = "press STOP"
MOMENT_S = 5.0
"""A STOP that comes so soon, in unit time, is pressed without looking up."""

_CONTACTS = {
    "control_room.alarm_contact_closed": r"Control room\s+no alarm",
    "control_room.closed_limit": r"limit: (?:open and )?closed",
    "control_room.open_limit": r"limit: open",
}
"""What is seen where a contact to the control room is closed."""


class HandsByKeys:
    """
    Somebody beside the practice unit.

    Args:
        screen: Where the app is shown.

        sheet: The unit's sheet.

        speed: Of the practice unit.
    """

    def __init__(self, screen: Screen, sheet: Sheet, speed: float) -> None:
        self._screen = screen
        self._speed = speed
        self._words = _all_doings(sheet)
        self.answered = ""
        """What came of the last act that the unit may refuse."""

    def go(self) -> bool:
        """Go to the unit; False where a result stands in the way, which is read first."""
        self._screen.press("h")
        shown = self._screen.until_shown(lambda shown: _PLACES in shown or RESULT in shown, "the places")
        if RESULT in shown:
            return False
        self._screen.expect("Not as run")
        return True

    def come_back(self) -> None:
        """Back to where one came from."""
        self._screen.press("b")
        self._screen.until(lambda: _HERE not in self._screen.shown(), "the way back")

    def do(self, act: SiteAct, *, moving: bool) -> None:
        """Do one thing; while a test runs, a short wait is waited."""
        if moving and act.act == WAIT_ACT and float(act.value or 0) < PATIENT_S * self._speed:
            pause(float(act.value or 0) / self._speed)
            return
        if act.act == JOG:
            self._jog(act, moving=moving)
            return
        place, name, doing = self._words[_key(act)]
        lasts = self._words.lasts[place]  # a list may be painted in two goes
        self._screen.press(str(place))
        shown = self._screen.until_shown(
            lambda shown: name.capitalize() in shown and any(last in shown for last in lasts), f"the list of {name}"
        )
        offered = re.compile(rf"^ *(\d)  {re.escape(doing.words[:40])}", re.MULTILINE)
        number = offered.search(shown)
        if number is None:
            pause(PAINTED_S)
            number = offered.search(self._screen.shown())
        if number is not None:
            self._screen.press(number[1])
            if doing.amount:
                self._screen.expect("then Enter")
                self._screen.type(f"{act.value:g}" if not isinstance(act.value, str) else act.value)
                self._screen.press("Enter")
            may_refuse = act.tried or (moving and act.act == WAIT_ACT)
            over = ("NOT DONE: ", f"Done: {doing.words[:40]}") if may_refuse else (f"Done: {doing.words[:40]}",)
            shown = self._screen.until_shown(
                lambda shown: any(words in shown for words in over), f"done: {doing.words}"
            )
            self.answered = "refused" if "NOT DONE: " in shown else "obeyed"
            if act.act == WAIT_ACT and self.answered == "refused":  # it passes by itself while something moves
                pause(float(act.value or 0) / self._speed)
        else:  # it stands so already, and only the other way is offered
            assert isinstance(act.value, bool | str), f"{doing.words!r} is not offered:\n{shown}"
        self._to_places()

    def _jog(self, act: SiteAct, *, moving: bool) -> None:
        """Button, time, STOP, each by its own key; a short one without looking up in between."""
        first, *orders = JOGS[act.which]
        if not orders and float(act.value or 0) < MOMENT_S:
            self._short_jog(first, float(act.value or 0))
            return
        self.do(SiteAct(act=first, which=orders[0] if orders else ""), moving=moving)
        self.do(SiteAct(act=WAIT_ACT, value=act.value), moving=moving)
        self.do(SiteAct(act="local_stop"), moving=moving)

    def _short_jog(self, button: str, seconds: float) -> None:
        place, name, doing = self._words[(button, None, "")]
        self._screen.press(str(place))
        shown = self._screen.until_shown(
            lambda shown: name.capitalize() in shown and _STOP in shown, f"the list of {name}"
        )
        found = [re.search(rf"^ *(\d)  {words}", shown, re.MULTILINE) for words in (doing.words, _STOP)]
        keys = [number[1] for number in found if number is not None]
        self._screen.press_apart(keys[0], min(seconds / self._speed, LONGEST_JOG_S), keys[1])
        self._screen.until_shown(lambda shown: f"Done: {_STOP}" in shown, "it stopped")
        self._to_places()

    def _to_places(self) -> None:
        self._screen.press("b")
        self._screen.until_shown(lambda shown: _PLACES in shown, "the places")

    def read(self, name: str) -> str:
        """A reading, off the screen; of a contact, whether it is closed."""
        if name == "mark":
            degrees = float(self.read("stem"))
            return "closed" if degrees < _AT_END_DEG else "open" if degrees > 90 - _AT_END_DEG else "between"
        if name in _CONTACTS:
            row = self._screen.until(lambda: "limit: " in self._screen.body(), f"a reading of {name}")
            return str(bool(re.search(_CONTACTS[name], row)))
        pattern = rf"{re.escape(name.partition('.')[2])} ([\d.]+) bar" if name.startswith("gauges.") else _READ[name]
        shown = self._screen.until(lambda: bool(re.search(pattern, self._screen.shown())), f"a reading of {name}")
        found = re.search(pattern, shown)
        assert found is not None
        return found[1]


def _key(act: SiteAct) -> tuple[str, object, str]:
    return act.act, act.value, act.which


def _all_doings(sheet: Sheet) -> "_Doings":
    """Every act and how it is worded, whichever way things stand, with the number and the name of its place."""
    found = _Doings()
    for turned in (False, True):
        desk = SiteDesk(PracticeUnit(sheet))
        if turned:
            for doing in [doing for place in places(sheet, _looked(desk)) for doing in place.doings]:
                if isinstance(doing.act.value, bool) and not doing.amount:
                    desk.act(doing.act.act, doing.act.value, which=doing.act.which)
            desk.act("hand_pump", 5)
            desk.act("selector", "OFF")
        for number, place in enumerate(places(sheet, _looked(desk)), start=1):
            found.add(number, place.name, place.doings)
    return found


class _Doings(dict[tuple[str, object, str], tuple[int, str, Doing]]):
    """By act; one whose value is typed is found whatever the value. `lasts` is the last line of each place's list."""

    def __init__(self) -> None:
        super().__init__()
        self.lasts: dict[int, set[str]] = {}

    def add(self, number: int, name: str, doings: Sequence[Doing]) -> None:
        """Keep what can be done at a place, and how its list ends."""
        self.lasts.setdefault(number, set()).add(f"  {doings[-1].words[:40]}")
        for doing in doings:
            self[(doing.act.act, doing.act.value, doing.act.which)] = (number, name, doing)

    def __missing__(self, key: tuple[str, object, str]) -> tuple[int, str, Doing]:
        act, _, which = key
        return self[(act, None, which)] if key[1] is not None else super().__getitem__(key)


def _looked(desk: SiteDesk) -> dict[str, object]:
    return {name: desk.read(name) for name in LOOKS}
