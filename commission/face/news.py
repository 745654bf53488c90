"""What an event just made true, in one sentence, where a person must not miss it; most events are no news."""

from collections.abc import Callable, Mapping

from commission.energy import EnergyState
from commission.job.bodies import (
    Adjusted,
    Answered,
    Body,
    CommandSent,
    Connected,
    ContactBack,
    ContactLost,
    DeviationRaised,
    EnergyEntered,
    EnergyLost,
    SeriesCompared,
    StepConcluded,
    TemporaryAdded,
    UnitSurveyed,
    body_of,
)
from commission.job.state import Job
from commission.record.event import Event
from commission.report.display import figure_name, shown


def news_of(event: Event, job: Job) -> str:
    """
    What an event made true, in words; empty where nobody needs to be told.

    Args:
        event: The event.

        job: The job after it.
    """
    body = body_of(event.kind, event.body)
    for kind, words in _WORDS.items():
        if isinstance(body, kind):
            return words(body, job)
    return ""


def void_steps(job: Job) -> tuple[str, ...]:
    """Ids of the steps whose last result was made void and has not been repeated."""
    return tuple(name for name, state in job.steps.items() if state.last is not None and state.last.voided_by)


def _deviation(body: DeviationRaised, _job: Job) -> str:
    return f"WARNING  Deviation {body.id}, class {body.classed}: {body.found}"


def _answered(body: Answered, job: Job) -> str:
    asked = next((known for known in job.checklist.step(body.step).questions if known.id == body.question), None)
    if asked is None or body.value is None:
        return ""
    if asked.effect == "clock":
        way = "ahead of" if body.value >= 0 else "behind"
        return f"The laptop's clock is {abs(body.value):.1f} s {way} the control room's"
    read = "read " if asked.kind == "measured" else ""
    value = f"{read}{body.value:.6g} {'' if body.unit == '1' else body.unit}".rstrip()
    return f"{asked.ask.rstrip('?')}: {value}{f', {body.verdict}' if body.verdict else ''}"


def _adjusted(body: Adjusted, job: Job) -> str:
    void = ", ".join(void_steps(job))
    return f"{body.touched} was adjusted. Void, to be repeated: {void or 'nothing yet'}"


def _concluded(body: StepConcluded, _job: Job) -> str:
    return f"{body.step}: {body.verdict}{f'. {body.reason}' if body.reason else ''}"


def _entered(body: EnergyEntered, _job: Job) -> str:
    keep_out = ". Keep out" if body.state == EnergyState.LIVE else ""
    return f"The unit is now {str(body.state).upper()}{keep_out}"


def _lost(body: EnergyLost, _job: Job) -> str:
    return f"The energy state is UNKNOWN: {body.reason}. Hands out until it is proved again"


def _temporary(body: TemporaryAdded, _job: Job) -> str:
    return f"On the temporary list: {body.id} {body.what} at {body.where}"


_TOLD_TOGETHER = ("friction_50_pct", "spring_force_50_pct", "valve_load_50_pct")


def _together(body: SeriesCompared, _job: Job) -> str:
    if body.answers:
        told = "; ".join(f"{figure_name(figure.name)} {shown(figure)}" for figure in body.figures)
        return f"Computed from the answers of {body.step}: {told}"
    decided = {result.figure: result.verdict for result in body.results}
    parts = [
        f"{figure_name(figure.name)} {shown(figure)}" + (f", {decided[figure.name]}" if figure.name in decided else "")
        for figure in body.figures
        if figure.name in decided or figure.name in _TOLD_TOGETHER
    ]
    return f"Strokes of {body.step} together: {'; '.join(parts)}" if parts else ""


def _contact_lost(body: ContactLost, _job: Job) -> str:
    return f"NO CONTACT: {body.reason}"


def _contact_back(_body: ContactBack, _job: Job) -> str:
    return "Contact is back"


def _connected(body: Connected, _job: Job) -> str:
    return f"Connected: identity {body.identity}; a stop reaches the unit in {body.make_safe_s:.2f} s"


def _sent(body: CommandSent, _job: Job) -> str:
    return f"STOP {body.outcome}" if body.purpose == "stop" else ""


def _surveyed(body: UnitSurveyed, _job: Job) -> str:
    return f"Not as it was left: {'; '.join(body.changed)}" if body.changed else ""


_WORDS: Mapping[type[Body], Callable[..., str]] = {
    DeviationRaised: _deviation,
    Answered: _answered,
    Adjusted: _adjusted,
    SeriesCompared: _together,
    StepConcluded: _concluded,
    EnergyEntered: _entered,
    EnergyLost: _lost,
    TemporaryAdded: _temporary,
    ContactLost: _contact_lost,
    ContactBack: _contact_back,
    Connected: _connected,
    CommandSent: _sent,
    UnitSurveyed: _surveyed,
}
