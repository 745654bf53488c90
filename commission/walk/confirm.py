"""
Confirming a movement (safety rule R13).

The first movement of each live period is confirmed in full: the count of people is typed, and the characters of the tag
plate that tell this unit from the others; neither is shown on the screen that asks. A repeat of the same test and
direction within ten minutes takes one key, then an audible countdown of three seconds that any key cancels. A crossing,
a change of direction or unit, or ten minutes ask in full again. Enter alone never starts a motion.

A pulse in control (rule R8) moves nothing, the motor and the oil being locked off; it takes the one key too.
"""

import re
from collections.abc import Iterable
from datetime import datetime, timedelta
from enum import StrEnum

from commission.energy import EnergyState
from commission.job.bodies import MovementConfirmed
from commission.job.register import Confirmed
from commission.job.state import Job
from commission.walk.movement import MotionTest

REPEAT_WITHIN = timedelta(minutes=10)
COUNTDOWN_S = 3.0
GO_KEY = "g"
"""The one key of a repeat."""

_FULL = re.compile(r"\s*(\d+)[\s,;]+([A-Za-z0-9]+)[\s,;]+(\S.*?)\s*")


class ConfirmError(ValueError):
    """The confirmation does not hold; nothing moves. The message never shows what was to be typed."""


class Confirmation(StrEnum):
    """How a movement is to be confirmed."""

    FULL = "full"
    COUNTDOWN = "countdown"


def kind_of_confirmation(job: Job, test: MotionTest, now: datetime) -> Confirmation:
    """How this movement is to be confirmed now."""
    if job.energy_log.now.state is EnergyState.CONTROL:
        return Confirmation.COUNTDOWN
    last = _last_confirmed(job)
    repeats = last is not None and last.confirmed.test.rsplit(" ", 1)[0] == test.kind
    recent = (
        last is not None and _ran_to_its_end(job, last) and now - datetime.fromisoformat(last.at_utc) < REPEAT_WITHIN
    )
    return Confirmation.COUNTDOWN if repeats and recent else Confirmation.FULL


def is_confirmed(job: Job, test: MotionTest, now: datetime) -> bool:
    """Whether this very run was confirmed, in this live period, less than ten minutes ago."""
    last = _last_confirmed(job)
    if last is None or last.confirmed.test != test.name:
        return False
    if job.register.gone.get(test.name, "") >= last.at_utc:
        return False  # it was refused, or stopped before it began: a go is good for one beginning
    return now - datetime.fromisoformat(last.at_utc) < REPEAT_WITHIN


def confirm(
    job: Job, test: MotionTest, text: str, by: str, now: datetime, others: Iterable[str] = ()
) -> MovementConfirmed:
    """
    The confirmation of a movement.

    Args:
        job: Where the visit stands.

        test: What is about to move.

        text: In full: the count, the tag's characters, who says go. For a repeat: the one key.

        by: Who types.

        now: UTC.

        others: Tags of the other units of this round.

    Raises:
        ConfirmError: it does not hold; the message names what to look at, never what to type.
    """
    if kind_of_confirmation(job, test, now) is Confirmation.COUNTDOWN:
        return _by_one_key(job, test, text, by)
    match = _FULL.fullmatch(text)
    if match is None:
        raise ConfirmError("type the count of people, the characters of the tag plate, and who says go")
    energy = job.energy_log.now
    count = int(match[1])
    if energy.people is None or count != energy.people:
        raise ConfirmError("the count differs from the count when the area was cleared: find everybody, count again")
    if match[2].upper() != tag_characters(job.tag, others).upper():
        raise ConfirmError("these are not the characters of this unit's tag plate: go and read the plate")
    return MovementConfirmed(test=test.name, count=count, tag_characters=match[2].upper(), said_go=match[3] or by)


def tag_characters(tag: str, others: Iterable[str] = ()) -> str:
    """
    The characters of a tag that differ from the other tags of the job; its digits where it is alone.

    A tag of another length differs as a whole, so then all its digits are asked for too.
    """
    rivals = [other for other in others if other != tag]
    if rivals and all(len(other) == len(tag) for other in rivals):
        return "".join(letter for place, letter in enumerate(tag) if any(other[place] != letter for other in rivals))
    digits = "".join(letter for letter in tag if letter.isdigit())
    return digits or "".join(letter for letter in tag if letter.isalnum())


def _by_one_key(job: Job, test: MotionTest, text: str, by: str) -> MovementConfirmed:
    if text.strip().lower() != GO_KEY:
        raise ConfirmError(f"press {GO_KEY.upper()} to begin the countdown; any other key leaves everything as it is")
    last = _last_confirmed(job)
    said_go = by if last is None else last.confirmed.said_go
    return MovementConfirmed(test=test.name, count=job.energy_log.now.people or 0, tag_characters="", said_go=said_go)


def _ran_to_its_end(job: Job, last: Confirmed) -> bool:
    """
    Whether the movement that was confirmed last finished by itself.

    One that was stopped, aborted or refused, or whose safe end lapsed, is no ground for a go by one key (rule R10).
    """
    run = next((run for run in job.runs.values() if run.begun.arguments.get("test") == last.confirmed.test), None)
    if run is None:
        return last.confirmed.test not in job.register.gone
    return run.ended is not None and run.ended.how == "finished"


def _last_confirmed(job: Job) -> Confirmed | None:
    """The latest confirmation of the live period the unit is in, or of the control period for a pulse."""
    energy = job.energy_log.now
    moving = energy.state in (EnergyState.LIVE, EnergyState.CONTROL) and energy.target is None
    if not moving or not job.register.confirmed:
        return None
    last = job.register.confirmed[-1]
    return last if datetime.fromisoformat(last.at_utc) >= datetime.fromisoformat(energy.at_utc) else None
