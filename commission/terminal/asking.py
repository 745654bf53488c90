"""How the walk screen words what is asked: question, choices by number, how to answer by keys, the value now."""

from commission.checklist import Step
from commission.checklist.model import LINE_FIGURES
from commission.face import wording
from commission.face.speaker_named import owner_line
from commission.procedures.requests import SafeEnd
from commission.quantity import UnitError, conversion
from commission.sheet import ROLES
from commission.supervise.stop_field import stop_field
from commission.terminal import lines
from commission.terminal.widgets.lines import Key
from commission.visit import Visit
from commission.walk.answers import place_of
from commission.walk.confirm import Confirmation
from commission.walk.movement import MotionTest
from commission.walk.prompts import Ask, BeginStep, Conclude, ConfirmMovement, Cross, Prompt, how_to_answer

MOVE_KEY = "m"
"""The one key of a repeat. Not the G of the typed command: here that key is the gas alarm."""

BEFORE = (
    "The top line: the energy state of the unit, whose word that is, and how old the readings are.",
    "The left side: how far each phase of the list has come.",
    "Here: one step at a time, its caution first, then what to do, and below it what to answer.",
    "The last two lines: the keys that work now (? lists all), and what SPACE does now.",
)
"""What a person who has never seen the walk is told before its first step."""

END = ("R shows the report; there F writes it as PDF beside the job. Q leaves the job; it can be gone on with.",)
"""What can be done when no step is left."""

WAITS = ("Enter looks again. N: not done, with why. X: another energy state. U: somebody else is here.",)
"""What can be done where a step waits for something."""

KEY_CHECK = (
    "Before the walk: press the stop key now, as you would in a movement.",
    f"It is {lines.STOP_KEY}. Nothing is sent and nothing is recorded.",
)


def asked_lines(visit: Visit, prompt: Prompt, who: str, width: int) -> list[str]:
    """What is asked, with its choices numbered; never what rule R13 wants typed unseen."""
    asked = wording.prompt_lines(prompt, width)
    if isinstance(prompt, Ask) and prompt.question.kind == "choice":
        asked += [f" {number}  {choice}" for number, choice in enumerate(prompt.question.choices, start=1)]
    if owner := owner_line(visit.job, prompt, who):
        asked += wording.labelled("", owner, width)
    return asked


def without_place(sentence: str, step: Step | None, prompt: Prompt | None) -> str:
    """What was not taken, without the step and the question that stand right above it."""
    place = "" if step is None or prompt is None else f"{place_of(step, prompt)}: "
    rest = sentence.removeprefix(place) if place else sentence
    return rest[:1].upper() + rest[1:]


def stop_words(visit: Visit, safe_end: SafeEnd | None, width: int, *, returns: bool = False) -> str:
    """What the stop key will do in the movement that is to be confirmed, and whether R returns (safety rule R11)."""
    make_safe_s = None if visit.link is None else visit.link.facts.make_safe_s
    back = lines.RETURN_KEY if returns else ""
    return stop_field(visit.job.sheet, safe_end, make_safe_s, lines.STOP_KEY, width, back)


def takes_typing(prompt: Prompt) -> bool:
    """Whether the prompt is answered in a field, rather than by one key."""
    match prompt:
        case BeginStep() | Conclude() | Cross():
            return False
        case Ask(question=question):
            return question.kind not in ("choice", "measured")
        case ConfirmMovement(kind=kind):
            return kind is Confirmation.FULL
    return True


def hint(prompt: Prompt, *, more: bool = False) -> str:
    """
    How to answer by keys.

    Args:
        prompt: What is asked.

        more: Whether a part of the cautions is not yet in sight.
    """
    match prompt:
        case BeginStep():
            return "Enter reads on: there is more above." if more else "Read the caution aloud. Enter begins the step."
        case Conclude():
            return "Enter concludes the step."
        case Cross(target=target, enter=enter):
            return f"Enter: yes, it is {target.upper()} from now on." if enter else "Enter begins, one point at a time."
        case Ask(question=question) if question.kind == "measured":
            return "Enter: the program reads it now."
        case Ask(question=question) if question.kind == "choice":
            return "Press its number."
        case ConfirmMovement(kind=Confirmation.COUNTDOWN, test=test):
            what = _what_begins(test)
            return f"Press {MOVE_KEY.upper()} to {what}: three seconds are counted aloud, any key cancels."
    words = how_to_answer(prompt)
    return words[:1].upper() + words[1:]


def answer_key(prompt: Prompt | None, *, more: bool = False) -> Key:
    """The key that answers; the hint says it too, so that it goes first where the line is short."""
    match prompt:
        case None:
            return Key("Enter", "look again", 4)
        case BeginStep():
            return Key("Enter", "read on" if more else "begin", 4)
        case Conclude():
            return Key("Enter", "conclude", 4)
        case Cross(enter=enter):
            return Key("Enter", "yes" if enter else "begin", 4)
        case Ask(question=question) if question.kind == "measured":
            return Key("Enter", "read", 4)
        case Ask(question=question) if question.kind == "choice":
            return Key(f"1-{len(question.choices)}", "choose", 0)
        case ConfirmMovement(kind=Confirmation.COUNTDOWN, test=test):
            return Key(MOVE_KEY.upper(), _what_begins(test), 0)
    return Key("Enter", "type", 0)


def now_words(visit: Visit, prompt: Prompt | None) -> str:
    """The value now of what a measured question asks; empty where nothing reads it."""
    if not isinstance(prompt, Ask) or prompt.question.kind != "measured" or visit.latest is None:
        return ""
    question = prompt.question
    if question.role in LINE_FIGURES:
        return "3,000 reads: a minute and a half on a serial line"
    value = visit.latest.readings.value(question.role)
    if value is None:
        return "now: no reading"
    try:
        shown = conversion(ROLES[question.role].unit or "1", question.unit or "1").apply(value)
    except UnitError:
        return ""
    return f"now: {shown:.4g} {question.unit.removeprefix('1')}".rstrip()


def _what_begins(test: MotionTest) -> str:
    """A movement towards an end is called so; a watch and command pulses only begin."""
    return "move" if test.direction else "begin"
