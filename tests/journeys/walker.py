"""
A whole visit by keys: the people of an answers file at the app's keyboard, and at the practice unit through the app.

What is asked next is taken from the record while it is written, and must be on the screen before anything is typed; so
the walk follows whatever the checklist holds. Every answer and every act is keys; readings are read off the screen.
"""

import math
import re
from datetime import datetime, timedelta
from pathlib import Path

import msgspec

from commission.checklist import Step
from commission.cli.answers_file import Answers, FiledAnswer, SiteAct, load_answers
from commission.cli.crew import _address
from commission.content import checklists_folder
from commission.face import wording
from commission.face.at_unit import WAIT_ACT
from commission.job.state import Job, fold
from commission.procedures.wiring_contacts import SETTLE_S
from commission.record.errors import RecordError
from commission.record.reader import Reader
from commission.sheet import load_sheet
from commission.terminal import asking
from commission.walk import gate, route
from commission.walk.prompts import Ask, BeginStep, Conclude, ConfirmMovement, Cross, Prompt, pending
from tests.journeys.asked import Questions
from tests.journeys.hand import FIELD, begin
from tests.journeys.hands_by_keys import RESULT, HandsByKeys
from tests.journeys.screen import GONE_S, LOOK_S, Screen, body_of
from tests.journeys.short_walk import SHEET
from tests.journeys.site import now_s, pause

STUCK_S = 60.0
"""Longest time at rest with nothing that could be answered; three thousand reads of the line are among it."""

STROKE_S = 90.0
"""Longest time in one movement with nothing that could be answered; a busy machine is slow."""

ESCAPE_S = 0.15
"""A terminal takes Esc and a letter that come together for one key."""

SEEN_S = 6.0
"""Longest time until what was done at the unit is seen by a test and said on the screen; a busy machine is slow."""

END = "The checklist is at its end"
TRIES = 4
REFUSED_S = 5.0
"""What was said of the first try still stands below the second for so long at most, before it is believed again."""

_NO_TEST = "N O T E S T"
_MOVES = re.compile(r"SPACE stop (?:G GAS|Enter answers)")
"""The keys of a running test; the words alone stand in instructions too."""

_SHOWN = 24
"""So many letters of a question must be on the screen before it is answered."""

_CLOCKS_APART = timedelta(seconds=7)
"""Of the invented control room's clock behind the laptop's."""

_BESIDE = ("wait_shortened", "person_added", "noted")
"""Events of people that answer nothing: with them the same is still asked, and must not be answered twice."""

_WAITS = "This step waits."
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
        self._job: Job | None = None
        self._spoken_n = 0
        self._worked_utc = ""
        sheet = load_sheet(SHEET)[0]
        self._questions = Questions(sheet)
        self._hands = HandsByKeys(screen, sheet, speed)
        self._asked: tuple[int, str] = (0, "")
        self._no_tests = 0
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
        if "Up/Down scroll" in shown and RESULT in shown:
            self._no_tests = self._no_tests + 1 if _NO_TEST in shown else 0
            assert self._no_tests <= TRIES, f"nothing is tested here, again and again:\n{self._screen.shown()}"
            self._result_read()
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

    def _result_read(self) -> None:
        self._questions.over()
        self._screen.press("Enter")
        self._screen.until(lambda: RESULT not in self._screen.body(), "the walk after a result")

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
        filed = self._answers.take(step.id, asked)
        said = self._said(filed, moving=True)
        if said and self._still_asked(filed.unless_s):
            self._answer_moving(said)
        return True

    def _still_asked(self, unless_s: float) -> bool:
        """Whether a question is still open once what was done could be seen, which settles most of them."""
        until_s = now_s() + (max(unless_s / self._speed, SEEN_S) if unless_s else 0.0)
        while self._moves() and self._questions.still(self._screen.body()):
            if now_s() >= until_s:
                return True
            pause(LOOK_S)
        return False

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
            known = [answer for answer in self._answers.filed.answers if answer.to == to]
            filed = next((answer for answer in known if answer.step == step.id), known[0])
        if asking.takes_typing(prompt):  # a program that stood still asks something else in its place
            shown = self._screen.until_shown(
                lambda shown: FIELD in shown or not _is_asked(prompt, body_of(shown)), FIELD
            )
            if FIELD not in shown:
                return False
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
        while not self._hands.go():  # the test ended by itself just then; what was begun is finished all the same
            self._result_read()
        for act in filed.acts:
            wanted = self._questions.target if act.value == "{asked}" else act.value
            self._hands.do(msgspec.structs.replace(act, value=wanted), moving=moving)
        read = {name: self._hands.read(name) for name in names if name not in ("clock", "log", "answered", "alarm_log")}
        if "alarm_log" in names:
            changed = _now(self._job_now()) - timedelta(seconds=float(self._hands.read("alarm_age")))
            read["alarm_log"] = f"{changed - _CLOCKS_APART:%H:%M:%S}"
        read["answered"] = self._hands.answered
        self._hands.come_back()
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
        if FIELD in self._screen.body():
            self._screen.press("Escape")
            self._screen.until(lambda: FIELD not in self._screen.body(), "the keys")
            pause(ESCAPE_S)

    def _into_field(self) -> None:
        if FIELD not in self._screen.body():
            self._screen.press("Enter")
            self._screen.expect(FIELD)

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
