"""
A whole visit by keys: the people of an answers file at the app's keyboard, and at the practice unit through the app.

What is asked next is taken from the record while it is written, and must be on the screen before anything is typed; so
the walk follows whatever the checklist holds. Every answer and every act is keys; readings are read off the screen.
"""

import math
import re
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from pathlib import Path

import msgspec

from commission.checklist import Step
from commission.cli.answers_file import Answers, FiledAnswer, SiteAct, load_answers
from commission.cli.crew import _address
from commission.content import checklists_folder
from commission.face import wording
from commission.face.at_unit import LOOKS, WAIT_ACT, Doing, places
from commission.job.state import Job, fold
from commission.practice.site import JOG, JOGS, SiteDesk
from commission.practice.unit import PracticeUnit
from commission.procedures.wiring_contacts import SETTLE_S
from commission.record.errors import RecordError
from commission.record.reader import Reader
from commission.sheet import load_sheet
from commission.terminal import asking
from commission.walk import gate, route
from commission.walk.prompts import Ask, BeginStep, Conclude, ConfirmMovement, Cross, Prompt, pending
from tests.journeys.asked import Questions
from tests.journeys.hand import begin
from tests.journeys.screen import GONE_S, LOOK_S, Screen, body_of
from tests.journeys.short_walk import SHEET
from tests.journeys.site import now_s, pause

STUCK_S = 60.0
"""Longest time at rest with nothing that could be answered; three thousand reads of the line are among it."""

STROKE_S = 90.0
"""Longest time in one movement with nothing that could be answered; a busy machine is slow."""

ESCAPE_S = 0.15
"""A terminal takes Esc and a letter that come together for one key."""

PATIENT_S = 15.0
"""So long somebody waits while a test runs, before they let time pass, which a test that only waits admits."""

PAINTED_S = 0.7
"""Time for a list to be painted and looked at once more, before somebody believes that something is not in it."""

END = "The checklist is at its end"
TRIES = 4
REFUSED_S = 5.0
"""What was said of the first try still stands below the second for so long at most, before it is believed again."""

_FIELD = "Esc, then"
_NO_TEST = "N O T E S T"
_MOVES = re.compile(r"SPACE stop (?:G GAS|Enter answers)")
"""The keys of a running test; the words alone stand in instructions too."""

_SHOWN = 24
"""So many letters of a question must be on the screen before it is answered."""

_AT_END_DEG = 2.0
_HERE = "You stand at the practice unit"
_CLOCKS_APART = timedelta(seconds=7)
"""Of the invented control room's clock behind the laptop's."""

_BESIDE = ("wait_shortened", "person_added", "noted")
"""Events of people that answer nothing: with them the same is still asked, and must not be answered twice."""

_READ = {
    "stem": r"Stem mark\s+(-?[\d.]+)",
    "meter": r"Meter\s+([\d.]+) V",
    "line_gauge": r"Instruments\s+([\d.]+) bar",
    "thermometer": r"([\d.]+) °C in the oil",
    "clamp": r"Clamp\s+([\d.]+) mA",
    "recorder.cause": r"recorder ([\d.]+) to",
    "recorder.home": r"recorder [\d.]+ to ([\d.]+) s",
    "level": r"Tank\s+([\d.]+) litres",
    "precharge": r"Nitrogen\s+([\d.]+) bar",
    "alarm_volts": r"([\d.]+) V on the alarm loop",
    "alarm_age": r"changed ([\d.]+) s ago",
    "panel.alarm": r"(ALARM lit|power on|dark)",
    "control_room.feedback_ma": r"feedback ([\d.]+) mA",
}
"""Where a reading stands on the screen."""

_RESULT = "Enter go on"
_WAITS = "This step waits."
_STOP = "press STOP"
MOMENT_S = 5.0
"""A STOP that comes so soon, in unit time, is pressed without looking up."""

_CONTACTS = {
    "control_room.alarm_contact_closed": r"Control room\s+no alarm",
    "control_room.closed_limit": r"limit: (?:open and )?closed",
    "control_room.open_limit": r"limit: open",
}
"""What is seen where a contact to the control room is closed."""

_HOW = re.compile(r"\((?:a number|Enter, then type)")
"""How the question of a running test is answered, behind it."""


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
        self._tried = ""
        self._job: Job | None = None
        self._spoken_n = 0
        self._worked_utc = ""
        self._questions = Questions(load_sheet(SHEET)[0])
        self._asked: tuple[int, str] = (0, "")
        self._no_tests = 0
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
        self._screen.expect("XV-1101")

    def to_end(self) -> None:
        """Answer all that is asked until the checklist is at its end."""
        self.until("no step")

    def until(self, step: str) -> None:
        """Answer all that is asked until a step is due, or the checklist is at its end."""
        last_s = now_s()
        while f">{step} " not in (screen := self._screen.shown()) and END not in (shown := body_of(screen)):
            if self._step(shown):
                last_s = now_s()
            longest_s = STROKE_S if _MOVES.search(shown) else STUCK_S
            stuck = now_s() - last_s > longest_s or (now_s() - last_s > GONE_S and self._screen.gone())
            assert not stuck, f"stuck at {self._asked}:\n{self._screen.shown()}"
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
                if event.by not in ("program", "unit") and event.kind not in _BESIDE:
                    self._spoken_n = event.n
                if event.kind == "noted" and "  at the unit: " in event.body["mark"]:
                    self._worked_utc = event.at_utc
        return self._job

    def _step(self, shown: str) -> bool:
        """Do what is to be done now; whether there was anything."""
        if "Up/Down scroll" in shown and "Enter go on" in shown:
            self._no_tests = self._no_tests + 1 if _NO_TEST in shown else 0
            self._questions.over()
            assert self._no_tests <= TRIES, f"nothing is tested here, again and again:\n{self._screen.shown()}"
            self._screen.press("Enter")
            self._screen.until(lambda: "Enter go on" not in self._screen.body(), "the walk after a result")
            return True
        if _MOVES.search(shown):
            return self._in_motion(shown)
        try:
            job = self.job()
        except RecordError:  # a checkpoint runs just now
            return False
        step = route.current(job)
        if step is None:
            return False
        if _WAITS in shown:
            return self._waited(job, step)
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

    def _waited(self, job: Job, step: Step) -> bool:
        """Where time alone settles it, let it pass, and look again."""
        refused = gate.refusal(job, step, _now(job))
        if refused is None or not refused.wait_s:
            return False
        self._said(FiledAnswer(step=step.id, to="wait", say="", acts=(_passing(refused.wait_s),)))
        self._screen.press("Enter")
        self._screen.until(lambda: _WAITS not in self._screen.body(), "the step to go on")
        return True

    def _again(self) -> bool:
        """What is queried is meant so."""
        self._screen.press("Enter")
        self._screen.until(lambda: "Enter again takes it" not in self._screen.body(), "it to be taken")
        return True

    def _confirmed(self, step: Step, shown: str) -> bool:
        if "confirm this movement in full" in shown:
            self._confirm(self._answers.take(step.id, "confirm").say)
        elif re.search("Press M to (?:move|begin)", shown):
            self._screen.press("m")
        else:
            return False
        self._screen.until(self._moves, "the movement")
        return True

    def _confirm(self, text: str) -> None:
        """Typed one key after the other; again where a busy machine took them all at once, as a paste."""
        for _ in range(TRIES):
            again = self._pasted()
            self._screen.type_by_hand(text)
            self._screen.press("Enter")
            refused_s = now_s() + (REFUSED_S if again else 0.0)
            self._screen.until(lambda since_s=refused_s: self._taken(since_s), "the movement")  # type: ignore[misc]  # bound now
            if self._moves():
                return

    def _taken(self, refused_s: float) -> bool:
        """Whether it moves; or whether what was typed was refused, which is believed from then on."""
        return self._moves() or (self._pasted() and now_s() > refused_s)

    def _pasted(self) -> bool:
        return "That came all at once" in self._screen.body()

    def _moves(self) -> bool:
        return bool(_MOVES.search(self._screen.body()))

    def _in_motion(self, shown: str) -> bool:
        """What a running test asks is answered from the file, each question once."""
        if "lets it move on" in shown:
            self._screen.press("m")
            self._screen.until(lambda: "lets it move on" not in self._screen.body(), "the go to be taken")
            return True
        asked = self._questions.new(shown)
        if asked is None:
            return False
        step = route.current(self._job_now())
        assert step is not None
        said = self._said(self._answers.take(step.id, asked), moving=True)
        if said:
            self._answer_moving(said)
        return True

    def _answer_moving(self, said: str) -> None:
        """A number as it stands; words after Enter, with _ for each blank; nothing where the test has ended by then."""
        shown = self._screen.until(
            lambda: bool(_HOW.search(self._screen.body())) or not self._moves(), "the question of the test"
        )
        if not _HOW.search(body_of(shown)):
            return
        if "put _" in body_of(shown):
            self._screen.press("Enter")
            self._screen.expect("Enter answers")
            self._screen.type(said.replace(" ", "_"))
        else:
            self._screen.type(said.partition(" ")[0])
        self._screen.press("Enter")

    def _job_now(self) -> Job:
        """As `job`, once no checkpoint runs."""
        until_s = now_s() + STUCK_S
        while True:
            try:
                return self.job()
            except RecordError:
                assert now_s() < until_s, "the record cannot be read"
                pause(LOOK_S)

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
        if not filed.acts and set(names) <= {"clock", "log"}:
            return self._with_clocks(filed.say)
        self._to_keys()
        self._screen.press("h")
        shown = self._screen.until_shown(
            lambda shown: "Where do you put your hands?" in shown or (moving and _RESULT in shown), "the places"
        )
        if _RESULT in shown:  # the test ended by itself just then
            return ""
        self._screen.expect("Not as run")
        for act in filed.acts:
            wanted = self._questions.target if act.value == "{asked}" else act.value
            self._do(msgspec.structs.replace(act, value=wanted), moving=moving)
        read = {name: self._read(name) for name in names if name not in ("clock", "log", "answered", "alarm_log")}
        if "alarm_log" in names:
            changed = _now(self._job_now()) - timedelta(seconds=float(self._read("alarm_age")))
            read["alarm_log"] = f"{changed - _CLOCKS_APART:%H:%M:%S}"
        read["answered"] = self._tried
        if _HERE in self._screen.shown():
            self._screen.press("b")
        self._screen.until(lambda: _HERE not in self._screen.shown(), "the way back")
        said = filed.say
        for name, value in read.items():
            said = said.replace(f"{{{name}}}", value)
        return self._with_clocks(said)

    def _with_clocks(self, said: str) -> str:
        """With the control room's clock now, and in its event log the time at which a contact was worked."""
        if "{clock}" in said:
            said = said.replace("{clock}", f"{_now(self._job_now()) - _CLOCKS_APART:%H:%M:%S}")
        if "{log}" in said:
            self._job_now()
            worked = datetime.fromisoformat(self._worked_utc) - timedelta(seconds=SETTLE_S)
            said = said.replace("{log}", f"{worked - _CLOCKS_APART:%H:%M:%S}")
        return said

    def _do(self, act: SiteAct, *, moving: bool) -> None:
        if moving and act.act == WAIT_ACT and float(act.value or 0) < PATIENT_S * self._speed:
            pause(float(act.value or 0) / self._speed)
            return
        if act.act == JOG:
            self._jog(act, moving=moving)
            return
        place, name, doing = self._words[_key(act)]
        lasts = self._words.lasts[place]  # a list may be painted in two goes
        self._screen.press(str(place))
        shown = self._until_here(
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
                self._type(f"{act.value:g}" if not isinstance(act.value, str) else act.value)
            over = ("NOT DONE: ", f"Done: {doing.words[:40]}") if act.tried else (f"Done: {doing.words[:40]}",)
            shown = self._until_here(lambda shown: any(words in shown for words in over), f"done: {doing.words}")
            self._tried = "refused" if "NOT DONE: " in shown else "obeyed"
        else:  # it stands so already, and only the other way is offered
            assert isinstance(act.value, bool | str), f"{doing.words!r} is not offered:\n{shown}"
        if _HERE in self._screen.shown():
            self._screen.press("b")
        self._until_here(lambda shown: "Where do you put your hands?" in shown, "the places")

    def _jog(self, act: SiteAct, *, moving: bool) -> None:
        """Button, time, STOP, each by its own key; a short one without looking up in between."""
        first, *orders = JOGS[act.which]
        if not orders and float(act.value or 0) < MOMENT_S:
            self._short_jog(first, float(act.value or 0))
            return
        self._do(SiteAct(act=first, which=orders[0] if orders else ""), moving=moving)
        self._do(SiteAct(act=WAIT_ACT, value=act.value), moving=moving)
        self._do(SiteAct(act="local_stop"), moving=moving)

    def _short_jog(self, button: str, seconds: float) -> None:
        place, name, doing = self._words[(button, None, "")]
        self._screen.press(str(place))
        shown = self._until_here(lambda shown: name.capitalize() in shown and _STOP in shown, f"the list of {name}")
        found = [re.search(rf"^ *(\d)  {words}", shown, re.MULTILINE) for words in (doing.words, _STOP)]
        keys = [number[1] for number in found if number is not None]
        self._screen.press(keys[0])
        pause(seconds / self._speed)
        self._screen.press(keys[1])
        self._until_here(lambda shown: f"Done: {_STOP}" in shown, "it stopped")
        self._screen.press("b")
        self._until_here(lambda shown: "Where do you put your hands?" in shown, "the places")

    def _until_here(self, found: Callable[[str], bool], what: str) -> str:
        """The screen once it is as wanted; or the test that watched the hands has ended and took this screen away."""
        return self._screen.until_shown(lambda shown: found(shown) or _HERE not in shown, what)

    def _read(self, name: str) -> str:
        """A reading, off the screen; of a contact, whether it is closed."""
        if name == "mark":
            degrees = float(self._read("stem"))
            return "closed" if degrees < _AT_END_DEG else "open" if degrees > 90 - _AT_END_DEG else "between"
        if name in _CONTACTS:
            row = self._screen.until(lambda: "limit: " in self._screen.body(), f"a reading of {name}")
            return str(bool(re.search(_CONTACTS[name], row)))
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


def _passing(seconds: float) -> SiteAct:
    return SiteAct(act=WAIT_ACT, value=math.ceil(seconds))


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
