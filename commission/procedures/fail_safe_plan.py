"""
What a fail-safe stroke will be: what is taken away, where the valve has to go, what times it, what is asked afterwards.

From the sheet and the checklist's arguments alone.
"""

from collections.abc import Mapping

import msgspec

from commission.analysis.fail_safe import Cause
from commission.analysis.outside_times import Source, Timer, timer_of
from commission.sheet import End, Sheet
from commission.sheet.model import StrokeLimits

FAIL_SAFE = "fail_safe"
BROUGHT = "brought"
"""Their names in the catalogue."""

HELD_S = 15.0
"""Where the valve has to stay it is watched for so long, or twice the time after which its signal counts as lost."""

PEOPLE_S = 600.0
"""What people may take for all that is asked of them in one run (common practice, no source)."""

_WORDS = {"closes": End.CLOSED, "opens": End.OPEN, "holds": None}
_SELECTORS = ("", "LOCAL", "OFF", "REMOTE")


class FailSafePlan(msgspec.Struct, frozen=True, kw_only=True):
    """
    A fail-safe stroke as it will be made.

    Args:
        cause: What is taken away, or done.

        by: Who or what gives the cause.

        goes_to: The end it has to go to; None where it has to stay.

        selector: Position that the selector has to stand in; empty where it does not matter.

        opposite: It is caused while the valve is under way to the other end.

        pump_off: Stored energy alone: the pressure has come down to cut-in, and the motor stands.

        reset_proof: Afterwards each of the two acts of a reset is tried alone.

        timer: What times it besides the samples.

        from_motion: The timer's first reading shows the first motion, not the cause.

        limits: Of the time; None where it has to stay.
    """

    cause: Cause
    by: str
    goes_to: End | None
    selector: str
    opposite: bool
    pump_off: bool
    reset_proof: bool
    timer: Timer
    from_motion: bool
    limits: StrokeLimits | None

    @property
    def longest_s(self) -> float:
        """The longest that the stroke itself is waited for: one that takes twice its limit has failed."""
        return HELD_S if self.limits is None else 2 * self.limits.longest_s + 5.0


def fail_safe_plan(sheet: Sheet, arguments: Mapping[str, str]) -> FailSafePlan:
    """
    The plan of a fail-safe stroke.

    Args:
        sheet: The unit's sheet.

        arguments: `cause` as in `Cause`; `by`, `selector`, `during` (`opposite` or nothing), `pump` (`off` or
            nothing), `reset` (`proved` or nothing), `timed_by` as `timer_of` takes it, `begins` (`cause` or `motion`).

    Raises:
        ValueError: an argument makes no sense, or the unit does not do that.
    """
    cause = Cause(arguments.get("cause", ""))
    selector = arguments.get("selector", "")
    if selector not in _SELECTORS:
        raise ValueError(f"selector as LOCAL, OFF or REMOTE, not {selector!r}")
    goes_to = where_to(sheet, cause)
    opposite = arguments.get("during", "") == "opposite"
    if opposite and goes_to is None:
        raise ValueError(f"without {cause.value} this valve stays where it is: there is no stroke to turn round")
    timer = timer_of(arguments.get("timed_by", "") or Source.LINK)
    return FailSafePlan(
        cause=cause,
        by=arguments.get("by", ""),
        goes_to=goes_to,
        selector=selector,
        opposite=opposite,
        pump_off=arguments.get("pump", "") == "off",
        reset_proof=arguments.get("reset", "") == "proved",
        timer=timer,
        from_motion=arguments.get("begins", "cause").startswith(("first motion", "motion")),
        limits=None if goes_to is None else limits_to(sheet, goes_to),
    )


def where_to(sheet: Sheet, cause: Cause) -> End | None:
    """
    The end that the valve goes to on this cause by the sheet; None where it stays.

    Raises:
        ValueError: the sheet does not begin with *closes*, *opens* or *holds*, or names no end for the ESD.
    """
    if cause.is_esd:
        return safe_end_of(sheet)
    if cause is Cause.MOTOR:
        return None  # without its pump a valve stays: what lets it go is control power
    behaviour = sheet.behaviour
    said = behaviour.lost_signal if cause is Cause.SIGNAL else behaviour.lost_power
    word = said.split()[0].strip(",;:").lower() if said.split() else ""
    if word not in _WORDS:
        raise ValueError(f"the sheet says {said!r} of a lost {cause.value}: it begins with closes, opens or holds")
    return _WORDS[word]


def fail_safe_longest_s(sheet: Sheet, arguments: Mapping[str, str]) -> float:
    """The longest that a fail-safe run may take, people included; raises ValueError as `fail_safe_plan` does."""
    return fail_safe_plan(sheet, arguments).longest_s + PEOPLE_S


def brought_longest_s(sheet: Sheet, _arguments: Mapping[str, str]) -> float:
    """The longest that people may take to bring the valve to an end."""
    return max(sheet.protections.travel_timeout_open_s, sheet.protections.travel_timeout_close_s) + PEOPLE_S


def test_words(sheet: Sheet, arguments: Mapping[str, str]) -> str:
    """What is said of it in the name of its run; its cause as it is written where the plan makes no sense."""
    try:
        plan = fail_safe_plan(sheet, arguments)
    except ValueError:
        return arguments.get("cause", "")
    return f"{plan.cause.value}{' midway' if plan.opposite else ''}"


def goes_to_safety(sheet: Sheet, arguments: Mapping[str, str]) -> bool:
    """Whether this run takes the valve to its safe end, rather than seeing it stay."""
    try:
        return fail_safe_plan(sheet, arguments).goes_to is not None
    except ValueError:
        return False


def safe_end_of(sheet: Sheet) -> End:
    """
    The end that an ESD drives the valve to.

    Raises:
        ValueError: the sheet names none.
    """
    if sheet.actuator.fail_position is not None:
        return sheet.actuator.fail_position
    if sheet.accumulator is not None and sheet.accumulator.drives is not None:
        return sheet.accumulator.drives
    raise ValueError("the sheet names no end that an ESD drives this valve to")


def limits_to(sheet: Sheet, end: End) -> StrokeLimits:
    """The sheet's limits for the stroke to this end by stored energy."""
    by_end = sheet.strokes.opening if end is End.OPEN else sheet.strokes.closing
    return sheet.strokes.emergency or by_end


def away_from(end: End) -> End:
    """The other end."""
    return End.CLOSED if end is End.OPEN else End.OPEN
