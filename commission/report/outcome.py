"""
The statement at the head of the report: accepted or not, and why.

The program accepts nothing. *Accepted* says that people have signed and that nothing recorded speaks against it:

* not finished: the report was asked for as an interim one;
* not accepted: something temporary is still on; a step failed or was not decided and no settled deviation says so; a
  deviation is not settled; a void or stopped step was not repeated; a step was never concluded; the unit was not handed
  over to operation; or nobody has signed. A deviation is settled when it is accepted, or is of class B (within a date)
  and has owner and date; one of class C is a note, and settles no failure;
* accepted with deviations: none of these, and there are deviations, or parts were not tested or only simulated;
* accepted: none of all these.
"""

import msgspec

from commission.energy import EnergyState
from commission.figure import Verdict
from commission.job import state
from commission.job.lists import Deviation
from commission.job.steps import Attempt
from commission.walk.route import applicable
from commission.walk.sign_off import is_sign_step

_UNDECIDED = (Verdict.FAIL, Verdict.NOT_DECIDED)


class Outcome(msgspec.Struct, frozen=True, kw_only=True):
    """
    What the visit came to.

    Args:
        words: The statement.

        against: What stands against acceptance, each in words.

        not_tested: Steps that were not tested, with the reason; then the steps never reached.

        void: Steps whose result was made void and not repeated, with what made it so.

        simulated: Steps proved by simulation only.

        counts: How many steps have each verdict, as `61 pass`.
    """

    words: str
    against: tuple[str, ...]
    not_tested: tuple[str, ...]
    void: tuple[str, ...]
    simulated: tuple[str, ...]
    counts: tuple[str, ...]


def outcome(job: state.Job, *, interim: bool) -> Outcome:
    """
    The statement for a job.

    Args:
        job: As folded.

        interim: Whether the report is a draft made before the end.
    """
    last = {name: _last(job, name) for name in _expected_steps(job)}
    not_tested = _with_verdict(job, last, (Verdict.NOT_TESTED, Verdict.NO_TEST))
    unreached = tuple(name for name, attempt in last.items() if attempt is None)
    simulated = _with_verdict(job, last, (Verdict.SIMULATED,))
    void = _void(job, last)
    against = (
        *_still_temporary(job),
        *_failed(job, last),
        *_unaccepted(job),
        *(f"void and not repeated: {item}" for item in void),
        *_unrepeated(job, last),
        *_never_concluded(unreached),
        *_not_handed_over(job),
    )
    partly = bool(job.deviations or not_tested or simulated)
    return Outcome(
        words=_words(interim=interim, against=bool(against), partly=partly),
        against=against,
        not_tested=(*not_tested, *([f"not reached: {', '.join(unreached)}"] if unreached else [])),
        void=void,
        simulated=simulated,
        counts=_counts(last),
    )


def _expected_steps(job: state.Job) -> list[str]:
    """
    Steps that a whole visit concludes: those that apply, up to where people sign, and any that was done beyond.

    A crossing of the energy state is in the energy log; it counts here only where it was concluded as a step.
    """
    names = []
    signing = False
    for step in applicable(job):
        signing = signing or is_sign_step(step)
        if step.id in job.steps or not (signing or step.crosses):
            names.append(step.id)
    return names


def _words(*, interim: bool, against: bool, partly: bool) -> str:
    if interim:
        return "NOT FINISHED: interim report"
    if against:
        return "NOT ACCEPTED"
    return "ACCEPTED WITH DEVIATIONS" if partly else "ACCEPTED"


def _last(job: state.Job, step: str) -> Attempt | None:
    steps = job.steps.get(step)
    attempt = None if steps is None else steps.last
    if steps is not None and attempt is not None and attempt.is_open:
        concluded = [earlier for earlier in steps.attempts if not earlier.is_open]
        return concluded[-1] if concluded else None
    return attempt


def _effective(attempt: Attempt) -> str:
    return Verdict.VOID.value if attempt.voided_by else attempt.verdict


def _titled(job: state.Job, step: str) -> str:
    return f"{step} {job.checklist.step(step).title}"


def _with_verdict(job: state.Job, last: dict[str, Attempt | None], verdicts: tuple[Verdict, ...]) -> tuple[str, ...]:
    return tuple(
        f"{_titled(job, name)}: {attempt.reason or attempt.verdict}"
        for name, attempt in last.items()
        if attempt is not None and _effective(attempt) in verdicts
    )


def _void(job: state.Job, last: dict[str, Attempt | None]) -> tuple[str, ...]:
    return tuple(
        f"{_titled(job, name)} ({attempt.voided_by or attempt.reason})"
        for name, attempt in last.items()
        if attempt is not None and _effective(attempt) == Verdict.VOID
    )


def _still_temporary(job: state.Job) -> list[str]:
    return [f"still on: {item.added.what}, {item.added.where}" for item in job.temporary.values() if item.is_on]


def _is_settled(item: Deviation) -> bool:
    raised = item.raised
    return item.accepted is not None or (raised.classed == "B" and bool(raised.owner and raised.due))


def _failed(job: state.Job, last: dict[str, Attempt | None]) -> list[str]:
    settled = {item.raised.step for item in job.deviations.values() if _is_settled(item)}
    return [
        f"{attempt.verdict}: {_titled(job, name)}"
        for name, attempt in last.items()
        if attempt is not None and _effective(attempt) in _UNDECIDED and name not in settled
    ]


def _unaccepted(job: state.Job) -> list[str]:
    return [
        f"deviation {item.raised.id}, class {item.raised.classed}, is neither accepted nor given owner and date"
        for item in job.deviations.values()
        if not _is_settled(item) and item.raised.classed != "C"
    ]


def _unrepeated(job: state.Job, last: dict[str, Attempt | None]) -> list[str]:
    return [
        f"stopped and not repeated: {_titled(job, name)}"
        for name, attempt in last.items()
        if attempt is not None and _effective(attempt) == Verdict.STOPPED
    ]


def _never_concluded(unreached: tuple[str, ...]) -> list[str]:
    return [f"steps not concluded: {len(unreached)}"] if unreached else []


def _not_handed_over(job: state.Job) -> list[str]:
    against = []
    if job.energy_log.now.state is not EnergyState.IN_OPERATION:
        against.append(f"not handed over: the unit's energy state is {job.energy_log.now.state}")
    if not job.register.signatures:
        against.append("nobody has signed")
    if job.read_only:
        against.append(f"this program cannot read all of the record: {job.read_only}")
    return against


def _counts(last: dict[str, Attempt | None]) -> tuple[str, ...]:
    found: dict[str, int] = {}
    for attempt in last.values():
        word = "not reached" if attempt is None else _effective(attempt)
        found[word] = found.get(word, 0) + 1
    order = [verdict.value for verdict in Verdict]
    ordered = sorted(found, key=lambda word: order.index(word) if word in order else len(order))
    return tuple(f"{found[word]} {word}" for word in ordered)
