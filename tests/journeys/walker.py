"""
A whole visit by keys: the people of an answers file at the app's keyboard, and at the practice unit through the app.

What is asked next is taken from the record while it is written, and must be on the screen before anything is typed; so
the walk follows whatever the checklist holds. Every answer and every act is keys; readings are read off the screen.
"""

import re
from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path

from commission.checklist import Step
from commission.cli.answers_file import Answers, FiledAnswer, SiteAct, load_answers
from commission.cli.crew import _address
from commission.content import checklists_folder
from commission.face import wording
from commission.face.at_unit import LOOKS, WAIT_ACT, Doing, places
from commission.job.state import Job, fold
from commission.practice.site import SiteDesk
from commission.practice.unit import PracticeUnit
from commission.record.errors import RecordError
from commission.record.reader import Reader
from commission.sheet import load_sheet
from commission.terminal import asking
from commission.walk import route
from commission.walk.prompts import Ask, BeginStep, Conclude, ConfirmMovement, Cross, Prompt, pending
from tests.journeys.hand import begin
from tests.journeys.screen import Screen
from tests.journeys.short_walk import SHEET
from tests.journeys.site import now_s, pause

LOOK_S = 0.02
STUCK_S = 30.0
"""Longest time at rest with nothing that could be answered."""

ESCAPE_S = 0.15
"""A terminal takes Esc and a letter that come together for one key."""

END = "The checklist is at its end"
_FIELD = "Esc leaves the field"
_SHOWN = 24
"""So many letters of a question must be on the screen before it is answered."""

_QUESTION = re.compile(r"(\S.{0,200}?)\s\((?:a number|Y for yes|Enter, then type)")
"""What a running test asks, and how it is to be answered behind it."""

_BESIDE = ("wait_shortened", "person_added")
"""Events of people that answer nothing."""

_READ = {
    "stem": r"Stem mark\s+(-?[\d.]+)",
    "meter": r"Meter\s+([\d.]+) V",
    "line_gauge": r"Instruments\s+([\d.]+) bar",
    "thermometer": r"([\d.]+) °C in the oil",
    "clamp": r"Clamp\s+([\d.]+) mA",
    "level": r"Tank\s+([\d.]+) litres",
    "precharge": r"Nitrogen\s+([\d.]+) bar",
    "control_room.feedback_ma": r"feedback ([\d.]+) mA",
}
"""Where a reading stands on the screen."""


class Walker:
    """
    Somebody who walks a whole practice visit.

    Args:
        screen: Where the app is shown.

        folder: Where its job is.

        speed: Of the practice unit.
    """

    def __init__(self, screen: Screen, folder: Path, speed: float) -> None:
        self._screen = screen
        self._folder = folder
        self._speed = speed
        self._answers: Answers = load_answers(checklists_folder() / "practice" / f"{SHEET.stem}.toml")[0]
        self._who = self._answers.filed.by
        self._job: Job | None = None
        self._spoken_n = 0
        self._asked_moving = ""
        self._asked: tuple[int, str] = (0, "")
        self._words = _all_doings()
        self.prompts = 0

    def start(self) -> None:
        """P, a name, the unit, and the stop key seen."""
        self._screen.expect("practise")
        self._screen.press("p")
        self._screen.expect("Who is at the keyboard?")
        self._type(f"{self._who}, technician")
        self._screen.expect("Enter choose")
        self._screen.press("Enter")
        self._screen.expect("press the stop key now")
        self._screen.press("Space")
        self._screen.expect("Ready?")

    def until(self, step: str) -> None:
        """Answer all that is asked until a step is due, or the checklist is at its end."""
        last_s = now_s()
        while END not in (shown := self._screen.body()) and f">{step} " not in self._screen.shown():
            if self._step(shown) or "SPACE stop" in shown:
                last_s = now_s()
            assert now_s() - last_s < STUCK_S, f"stuck at {self._asked}:\n{self._screen.shown()}"
            assert not self._screen.gone(), self._screen.shown()
            pause(LOOK_S)

    def to_keys(self) -> None:
        """Whatever is asked just now, letters are keys afterwards."""
        pause(1.0)
        self._to_keys()

    def job(self) -> Job:
        """Where the visit stands, read beside the program that writes it."""
        path = next(self._folder.glob("*.job"))
        with Reader(path) as reader:
            if self._job is None:
                self._job = fold(reader.events())
            for event in reader.events(self._job.last_n):
                self._job = self._job.after(event)
                if event.by != "program" and event.kind not in _BESIDE:
                    self._spoken_n = event.n
        return self._job

    def _step(self, shown: str) -> bool:
        """Do what is to be done now; whether there was anything."""
        if "Up/Down scroll" in shown and "Enter go on" in shown:
            self._screen.press("Enter")
            self._screen.until(lambda: "Enter go on" not in self._screen.body(), "the walk after a result")
            return True
        if "SPACE stop" in shown:
            return self._in_motion(shown)
        try:
            job = self.job()
        except RecordError:  # a checkpoint runs just now
            return False
        step = route.current(job)
        if step is None:
            return False
        prompt = pending(job, step, _now(job))
        mark = (self._spoken_n, repr(prompt))
        if mark == self._asked:
            return "Enter again takes it" in shown and self._again()
        if isinstance(prompt, ConfirmMovement):
            done = self._confirmed(step, shown)
        else:
            done = _is_asked(prompt, shown) and self._answered(step, prompt)
        if done:
            self._asked = mark
            self.prompts += 1
        return done

    def _again(self) -> bool:
        """What is queried is meant so."""
        self._screen.press("Enter")
        self._screen.until(lambda: "Enter again takes it" not in self._screen.body(), "it to be taken")
        return True

    def _confirmed(self, step: Step, shown: str) -> bool:
        if "confirm this movement (full)" in shown:
            self._screen.type_by_hand(self._answers.take(step.id, "confirm").say)
            self._screen.press("Enter")
        elif "Press M to move" in shown:
            self._screen.press("m")
        else:
            return False
        self._screen.until(lambda: "SPACE stop" in self._screen.body(), "the movement")
        return True

    def _in_motion(self, shown: str) -> bool:
        """What a running test asks is answered from the file: by a word of the question, else in its order."""
        if "lets it move on" in shown:
            self._screen.press("m")
            self._screen.until(lambda: "lets it move on" not in self._screen.body(), "the go to be taken")
            return True
        asked = _QUESTION.search(shown)
        if asked is None or asked[0] == self._asked_moving:
            return False
        step = route.current(self.job())
        assert step is not None
        filed = self._for_test(step, asked[1])
        if filed is None:
            return False
        self._asked_moving = asked[0]
        said = self._said(filed, moving=True)
        if said and "SPACE stop" in self._screen.body():
            self._screen.type(said.replace(" ", "_") if "put _" in shown else said.partition(" ")[0])
            if "Y for yes" not in shown:
                self._screen.press("Enter")
        return True

    def _for_test(self, step: Step, question: str) -> FiledAnswer | None:
        known = {question.id for question in step.questions} - {"meter"} | {"confirm", "again", "begin", "conclude"}
        open_now = [
            filed
            for number, filed in enumerate(self._answers.filed.answers)
            if filed.step in (step.id, "*")
            and (filed.again or number not in self._answers._used)
            and (filed.step == "*" or filed.to not in known)
        ]
        named = [filed for filed in open_now if filed.to in question]
        of_step = [filed for filed in open_now if filed.step == step.id]
        return self._answers.take(step.id, (named or of_step)[0].to) if named or of_step else None

    def _answered(self, step: Step, prompt: Prompt) -> bool:
        to, fallback = _address(prompt)
        filed = FiledAnswer(step=step.id, to=to, say=fallback)
        if self._answers.has(step.id, to):
            filed = self._answers.take(step.id, to)
        elif not fallback:  # a step that nobody planned: the program stood still, and all is proved again
            filed = next(known for known in self._answers.filed.answers if known.to == to)
        if asking.takes_typing(prompt):
            self._screen.expect(_FIELD)
        said = self._said(filed)
        if not isinstance(prompt, BeginStep | Conclude):
            self._be(filed.by or self._answers.filed.by)
        match prompt:
            case BeginStep():
                begin(self._screen)
            case Conclude() | Cross():
                self._screen.press("Enter")
            case Ask(question=question) if question.kind == "measured":
                self._screen.press("Enter")
            case Ask(question=question) if question.kind == "choice":
                self._screen.press(str(question.choices.index(said) + 1))
            case _:
                self._into_field()
                self._type(said)
        return True

    def _said(self, filed: FiledAnswer, *, moving: bool = False) -> str:
        """What is answered, after what it does at the unit was done there and read there, by keys."""
        names = re.findall(r"\{([^}]+)\}", filed.say)
        said = filed.say.replace("{clock}", f"{_now(self.job()) - timedelta(seconds=7):%H:%M:%S}")
        if not filed.acts and names in ([], ["clock"]):
            return said
        self._to_keys()
        self._screen.press("h")
        self._screen.expect("Where do you put your hands?")
        self._screen.expect("Not as run")
        for act in filed.acts:
            self._do(act, moving=moving)
        for name in names:
            said = said.replace(f"{{{name}}}", self._read(name)) if name != "clock" else said
        self._screen.press("b")
        self._screen.until(lambda: "You stand at the practice unit" not in self._screen.shown(), "the way back")
        return said

    def _do(self, act: SiteAct, *, moving: bool) -> None:
        if moving and act.act == WAIT_ACT:
            pause(float(act.value or 0) / self._speed)
            return
        place, name, doing = self._words[_key(act)]
        self._screen.press(str(place))
        self._screen.until(lambda: name.capitalize() in self._screen.shown(), name)
        lasts = self._words.lasts[place]  # a list may be painted in two goes
        shown = self._screen.until(lambda: any(last in self._screen.shown() for last in lasts), f"the end of {name}")
        number = re.search(rf"^ *(\d)  {re.escape(doing.words[:40])}", shown, re.MULTILINE)
        if number is not None:
            self._screen.press(number[1])
            if doing.amount:
                self._screen.expect("then Enter")
                self._type(f"{act.value:g}" if not isinstance(act.value, str) else act.value)
            self._screen.expect(f"Done: {doing.words[:40]}")
        else:  # it stands so already, and only the other way is offered
            assert isinstance(act.value, bool | str), f"{doing.words!r} is not offered:\n{shown}"
        self._screen.press("b")
        self._screen.expect("Where do you put your hands?")

    def _read(self, name: str) -> str:
        """A reading, off the screen."""
        pattern = rf"{re.escape(name.partition('.')[2])} ([\d.]+) bar" if name.startswith("gauges.") else _READ[name]
        shown = self._screen.until(lambda: bool(re.search(pattern, self._screen.shown())), f"a reading of {name}")
        found = re.search(pattern, shown)
        assert found is not None
        return found[1]

    def _be(self, name: str) -> None:
        """Whoever speaks is at the keyboard."""
        if name == self._who:
            return
        self._to_keys()
        self._screen.press("u")
        self._screen.expect("Who is at the keyboard?")
        self._type(f"{name}, on site")
        self._screen.until(lambda: "Who is at the keyboard?" not in self._screen.body(), "the walk again")
        self._who = name

    def _to_keys(self) -> None:
        """Out of the field, so that letters are keys."""
        if _FIELD in self._screen.body():
            self._screen.press("Escape")
            self._screen.until(lambda: _FIELD not in self._screen.body(), "the keys")
            pause(ESCAPE_S)

    def _into_field(self) -> None:
        if _FIELD not in self._screen.body():
            self._screen.press("Enter")
            self._screen.expect(_FIELD)

    def _type(self, text: str) -> None:
        self._screen.type(text)
        self._screen.press("Enter")


def _is_asked(prompt: Prompt, shown: str) -> bool:
    words = " ".join(" ".join(wording.prompt_lines(prompt, 400)).split())
    return words[:_SHOWN] in shown


def _now(job: Job) -> datetime:
    return datetime.fromisoformat(job.last_utc)


def _key(act: SiteAct) -> tuple[str, object, str]:
    return act.act, act.value, act.which


def _all_doings() -> "_Doings":
    """Every act and how it is worded, whichever way things stand, with the number and the name of its place."""
    sheet = load_sheet(SHEET)[0]
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
