"""What can be asked for at any prompt, besides answering it: `/name words`."""

from collections.abc import Awaitable, Callable, Mapping

import msgspec

from commission.checklist import Step
from commission.cli import saying
from commission.content import nearest
from commission.face import on_request
from commission.face.dialogue import Left
from commission.visit import Visit
from commission.walk import acts
from commission.walk.state_line import permit_words, state_line


class Typed(msgspec.Struct, frozen=True, kw_only=True):
    """A request: on which visit, at which step, with which words, by whom."""

    visit: Visit
    step: Step | None
    words: str
    by: str


class Request(msgspec.Struct, frozen=True):
    """One request: what it takes, what it does, and how. What it returns is the new name at the keyboard, or empty."""

    takes: str
    does: str
    make: Callable[[Typed], Awaitable[str]]


async def perform(name: str, typed: Typed) -> str:
    """
    Do what was asked for.

    Raises:
        ValueError, LookupError: it lacks something, or is not legal now; nothing has changed.

        Left: it ends the visit.
    """
    request = REQUESTS.get(name)
    if request is None:
        guess = nearest(name, REQUESTS)
        hint = f"; did you mean /{guess}?" if guess else ""
        raise ValueError(f"there is no request /{name}{hint} /help lists them all")
    return await request.make(typed)


def _parts(words: str, count: int, example: str) -> list[str]:
    parts = [part.strip() for part in words.split(";")]
    if len(parts) != count or not all(parts):
        raise ValueError(f"{count} parts are wanted, separated by semicolons, as: {example}")
    return parts


async def _help(_typed: Typed) -> str:
    for name, entry in REQUESTS.items():
        saying.say(f"{'/' + name + ' ' + entry.takes:<38} {entry.does}", "  ")
    saying.say(
        "An answer may end in the name of whose word it is, as: lock 12 by J. Demoval; or /who changes who is at the "
        "keyboard. While the valve moves any line stops it, and /gas is the gas alarm."
    )
    return ""


async def _who(typed: Typed) -> str:
    return on_request.person(typed.visit, typed.words)


async def _state(typed: Typed) -> str:
    visit, job = typed.visit, typed.visit.job
    saying.say(f"{job.tag}  {state_line(job)}  {permit_words(job, visit.clock.utc())}")
    for lock in job.energy_log.now.locks.values():
        saying.say(f"lock {lock.number} on {lock.source}, {lock.by}", "  ")
    for item in job.temporary.values():
        if item.is_on:
            saying.say(f"temporary {item.added.id}: {item.added.what} at {item.added.where}", "  ")
    for deviation in job.deviations.values():
        if deviation.accepted is None:
            saying.say(f"deviation {deviation.raised.id}: {deviation.raised.found}", "  ")
    return ""


async def _skip(typed: Typed) -> str:
    if typed.step is None:
        raise ValueError("no step is open")
    on_request.not_done(typed.visit, typed.step, typed.words, typed.by)
    return ""


async def _temporary(typed: Typed) -> str:
    kind, what, where, why = _parts(typed.words, 4, "/temporary jumper; jumper wire; TB-3 4 to 5; to hold the ESD loop")
    typed.visit.record(acts.temporary_on(typed.visit.job, kind, what, where, why), typed.by)
    return ""


async def _off(typed: Typed) -> str:
    item, second, proof = _parts(typed.words, 3, "/off T1; O. Sampleton; alarm returned at 15:41")
    typed.visit.record(acts.temporary_off(typed.visit.job, item, second, proof, typed.by), typed.by)
    return ""


async def _touched(typed: Typed) -> str:
    touched, detail = _parts(typed.words, 2, "/touched needle; needle from 2 to 1¾ turns")
    void = acts.would_void(typed.visit.job, touched)
    typed.visit.record(acts.adjusted(typed.visit.job, touched, detail), typed.by)
    saying.say(f"Void, to be repeated: {', '.join(void) or 'nothing yet'}")
    return ""


async def _deviation(typed: Typed) -> str:
    required, found = _parts(typed.words, 2, "/deviation drawing revision D; drawing revision C on site")
    step = "" if typed.step is None else typed.step.id
    typed.visit.record(acts.raise_deviation(typed.visit.job, step, required, found), typed.by)
    return ""


async def _accept(typed: Typed) -> str:
    deviation, who, reason = _parts(typed.words, 3, "/accept D1; P. Exampler; part on order")
    typed.visit.record(acts.accept_deviation(typed.visit.job, deviation, who, reason), typed.by)
    return ""


async def _cross(typed: Typed) -> str:
    on_request.cross_to(typed.visit, typed.words, typed.by)
    return ""


async def _abandon(typed: Typed) -> str:
    on_request.abandon(typed.visit, typed.words, typed.by)
    return ""


async def _gas(typed: Typed) -> str:
    typed.visit.gas_alarm(typed.by)
    saying.say(acts.GAS_ALARM_WORDS)
    return ""


async def _leave(_typed: Typed) -> str:
    raise Left("left; the same command on the job file goes on from here")


REQUESTS: Mapping[str, Request] = {
    "help": Request("", "this list", _help),
    "state": Request("", "energy state, locks, temporary list", _state),
    "who": Request("NAME, ROLE", "somebody else is at the keyboard", _who),
    "skip": Request("REASON", "this step could not be done", _skip),
    "temporary": Request("KIND; WHAT; WHERE; WHY", "something temporary is on", _temporary),
    "off": Request("ID; SECOND; PROOF", "it is off again, seen by a second person", _off),
    "touched": Request("WHAT; DETAIL", "something was adjusted; lists what is void", _touched),
    "deviation": Request("REQUIRED; FOUND", "something is not as it should be", _deviation),
    "accept": Request("ID; WHO; WHY", "the owner's side accepts a deviation", _accept),
    "cross": Request("STATE", "leave this step for another energy state", _cross),
    "abandon": Request("REASON", "a crossing is not completed: state unknown", _abandon),
    "gas": Request("", "GAS ALARM: stop, record, leave", _gas),
    "leave": Request("", "end here; go on later", _leave),
}
"""Every request."""
