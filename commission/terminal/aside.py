"""What may be asked for beside the answer: not done, who is there, another energy state, a crossing abandoned."""

from collections.abc import Callable

import msgspec

from commission.checklist import Step
from commission.face import on_request
from commission.visit import Visit
from commission.walk import gate, route


class Aside(msgspec.Struct, frozen=True):
    """
    One request, as the walk screen asks about it.

    Args:
        lines: What is asked.

        hint: How to answer.

        take: Takes the typed text, or the number pressed; raises ValueError where it lacks something.

        typed: Whether a text is typed, rather than a number pressed.
    """

    lines: tuple[str, ...]
    hint: str
    take: Callable[[str], None]
    typed: bool = True


def why_not_done(visit: Visit, step: Step, who: str) -> Aside:
    """Say why a step could not be done."""
    return Aside(
        (f"Why could {step.id} not be done?", "It is recorded as not tested, and steps that need it stay closed."),
        "In your words, as: no loop calibrator on site. Esc goes back.",
        lambda text: on_request.not_done(visit, step, text, who),
    )


def who_is_there(visit: Visit, become: Callable[[str], None]) -> Aside:
    """Somebody else is at the keyboard: a new name and role, or the number of somebody known."""
    known = tuple(visit.job.register.people)

    def take(text: str) -> None:
        chosen = text.strip()
        if chosen.isdecimal():
            if not 1 <= int(chosen) <= len(known):
                raise ValueError(f"nobody has number {chosen}")
            chosen = known[int(chosen) - 1]
        become(chosen)

    listed = tuple(f" {number}  {name}" for number, name in enumerate(known[:6], start=1))
    return Aside(("Who is at the keyboard?", *listed), "A number, or name, role, as: T. Placeholder, technician", take)


def another_state(visit: Visit, who: str) -> Aside:
    """
    Go to another energy state, or abandon the crossing that is under way.

    Raises:
        ValueError: nothing leads from here to another state.
    """
    energy = visit.job.energy_log.now
    if energy.target not in (None, energy.state):
        return Aside(
            (f"Why is the crossing to {energy.target} not completed?", "The energy state is UNKNOWN from then on."),
            "In your words, as: bleed valve seized. Esc goes back.",
            lambda text: on_request.abandon(visit, text, who),
        )
    ways = on_request.ways(visit)
    if not ways:
        raise ValueError("no crossing of the checklist leads from here to another energy state")

    def take(number: str) -> None:
        if not 1 <= int(number) <= len(ways):
            raise ValueError(f"press a number from 1 to {len(ways)}")
        on_request.cross_to(visit, ways[int(number) - 1], who)

    listed = tuple(f" {number}  {way}{_closed(visit, way)}" for number, way in enumerate(ways, start=1))
    return Aside(
        ("Leave this step for another energy state:", *listed), "Press its number. Esc goes back.", take, typed=False
    )


def _closed(visit: Visit, way: str) -> str:
    """Why no crossing to a state may begin now, behind its name."""
    steps = [step for step in route.crossings_from(visit.job) if step.crosses == way]
    refusals = [gate.refusal(visit.job, step, visit.clock.utc()) for step in steps]
    if not refusals or None in refusals:
        return ""
    return f": not now, {refusals[0]}"
