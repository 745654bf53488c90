"""
M3, M4: set points from the link, for a modulating unit (safety rule R14).

The first set point written is where the valve is seen to stand, so that taking the source moves nothing. Every step is
within the sheet's step and rate. At the end the set point goes back to where it began, then the source is handed back
and read back; whatever ends it early holds the valve first and then hands back, which the supervisor does.
"""

from collections.abc import Generator, Mapping

from commission.analysis.set_points import GivenSetPoint, SetPointEnd, SetPointsObserved
from commission.procedures.full_stroke import watched_roles
from commission.procedures.guards import bit_is
from commission.procedures.onlooker import Onlooker
from commission.procedures.requests import (
    SET_POINT,
    Begin,
    Command,
    CommandValue,
    Guard,
    HandBack,
    Note,
    Procedure,
    Reply,
    Request,
    SafeEnd,
    Sent,
    SetPoints,
)
from commission.sample import Outcome
from commission.sheet import Sheet
from commission.sheet.decode import Reading, Readings

STEPS = "0 2 -2 5 -5 10 -10"
"""Steps of the input in % of travel, about where it stands (trade guide M4)."""

SETTLES_S = 6.0
STILL_S = 2.0
SEEN_WITHIN_S = 3.0
NEAR_PCT = 1.0
MOST_STEPS = 60

_FOLLOW, _BACK, _SHOWS = "command_follow_link", "command_follow_loop", "follows_link"
_NEEDED = (SET_POINT, _FOLLOW, _BACK, _SHOWS, "command_stop", "travel")
_WATCHED = ("follows_link", "remote", "esd_healthy", "command_current", "system_pressure")


def set_points(sheet: Sheet, arguments: Mapping[str, str]) -> Procedure[SetPointsObserved]:
    """
    Step the set point from here, and watch what the valve makes of it.

    Args:
        sheet: The unit's sheet.

        arguments: `steps`, changes in % of travel one after the other; `settle_s` after each; `test` names the run.

    Returns:
        Every set point given, and all that was seen.

    Raises:
        ValueError: the unit lacks a point, the sheet gives no step and rate, or a step is larger than it allows.
    """
    run = _Run(sheet, arguments)
    yield run.begin()
    yield from run.seen.watch_for(STILL_S)
    home = run.seen.level("travel")
    if home is None or not run.stands_still():
        return run.observed(SetPointEnd.NOT_READY, "travel does not stand still, or is not read")
    if not (yield from run.take_source(home)):
        return run.observed(SetPointEnd.NOT_TAKEN, "the unit does not show that it follows the link")
    now_pct = home * 100
    for change_pct in run.steps:
        now_pct = min(100.0, max(0.0, now_pct + change_pct))
        if not (yield from run.give(now_pct)):
            return run.observed(SetPointEnd.REFUSED, f"set point {now_pct:g} % was not taken")
        yield from run.seen.watch_for(run.settle_s)
    yield from run.go_home(now_pct, home * 100)
    if not (yield from run.hand_back()):
        return run.observed(SetPointEnd.NOT_BACK, "the unit does not show that it follows its loop again")
    return run.observed(SetPointEnd.DONE)


def set_points_longest_s(sheet: Sheet, arguments: Mapping[str, str]) -> float:
    """The longest that a run may take; raises ValueError as `set_points` does."""
    run = _Run(sheet, arguments)
    return STILL_S + (len(run.steps) + 12) * (run.settle_s + 2 * run.step_pct / run.rate_pct_s) + 4 * SEEN_WITHIN_S


class _Run:
    """What has been given and seen so far."""

    def __init__(self, sheet: Sheet, arguments: Mapping[str, str]) -> None:
        missing = [role for role in _NEEDED if sheet.point(role) is None]
        if missing:
            raise ValueError(f"set points from the link need a point for {', '.join(missing)}; this unit has none")
        plan = sheet.modulating
        if plan is None or plan.set_point_step_pct is None or plan.set_point_rate_pct_s is None:
            raise ValueError("the sheet gives no largest step and rate of a set point over the link")
        self.sheet, self.step_pct, self.rate_pct_s = sheet, plan.set_point_step_pct, plan.set_point_rate_pct_s
        self.steps = _numbers(arguments.get("steps", STEPS), self.step_pct)
        self.settle_s = float(arguments.get("settle_s", SETTLES_S))
        self.seen = Onlooker()
        self._test = arguments.get("test", "set points")
        self._given: list[GivenSetPoint] = []
        self._last_ns = 0
        self._last_pct = 0.0

    def begin(self) -> Begin:
        """Stop, then hand back, is the safe end; LOCAL, ESD and trips take the valve away."""
        stop, scale = self._value("command_stop"), self._raw(100.0)
        guards: dict[str, Guard] = {
            role: bit_is(role, wanted=True, taken_over=True)
            for role in ("esd_healthy", "remote", "automatic")
            if self.sheet.has(role)
        }
        return Begin(
            test=self._test,
            commands=(self._value(_FOLLOW), self._value(_BACK), stop),
            safe_end=SafeEnd.STOP,
            safe_command=stop,
            guards=guards,
            roles=watched_roles(self.sheet, (*_WATCHED, *guards)),
            longest_s=STILL_S + (len(self.steps) + 12) * (self.settle_s + 2 * self.step_pct / self.rate_pct_s),
            set_points=SetPoints(
                low=0,
                high=scale,
                step=self._raw(self.step_pct),
                per_s=scale * self.rate_pct_s / 100,
                near=self._raw(NEAR_PCT),
                scale=float(scale),
            ),
            hand_back=HandBack(self._value(_BACK), _SHOWS, seen_as=False),
        )

    def stands_still(self) -> bool:
        """Whether travel has kept within its noise for the last moments."""
        travels = [reading.value for item in self.seen.items if (reading := _travel(item)) is not None]
        return len(travels) > 2 and max(travels) - min(travels) <= NEAR_PCT / 100

    def take_source(self, home: float) -> Generator[Request, Reply, bool]:
        """The measured position first, then the source: nothing moves by it."""
        if not (yield from self.give(home * 100)):
            return False
        return (yield from self._switch(_FOLLOW, shows=True))

    def hand_back(self) -> Generator[Request, Reply, bool]:
        """The source back to the loop, read back."""
        return (yield from self._switch(_BACK, shows=False))

    def go_home(self, now_pct: float, home_pct: float) -> Generator[Request, Reply, None]:
        """Back in steps that the sheet allows to where the loop's command stands."""
        while abs(home_pct - now_pct) > self.step_pct / 1000:
            now_pct += min(self.step_pct, max(-self.step_pct, home_pct - now_pct))
            yield from self.give(now_pct)
        yield from self.seen.watch_for(self.settle_s)

    def give(self, percent: float) -> Generator[Request, Reply, bool]:
        """One set point, once the sheet's rate allows it; whether the unit took it."""
        if self._given:
            wait_s = abs(percent - self._last_pct) / self.rate_pct_s
            while self.seen.at_ns - self._last_ns < (wait_s + 0.05) * 1e9:
                yield from self.seen.look()
        sent = yield Command(SET_POINT, self._raw(percent))
        if not isinstance(sent, Sent) or sent.outcome is not Outcome.ANSWERED:
            return False
        self._given.append(GivenSetPoint(percent / 100, sent.at_ns, sent.half_width_ns))
        self._last_ns, self._last_pct = sent.at_ns, percent
        yield Note(f"set point {percent:.2f} %")
        return True

    def observed(self, ended: SetPointEnd, why: str = "") -> SetPointsObserved:
        """All that was given and seen."""
        return SetPointsObserved(
            test=self._test, given=tuple(self._given), seen=tuple(self.seen.items), ended=ended, why=why
        )

    def _switch(self, role: str, *, shows: bool) -> Generator[Request, Reply, bool]:
        sent = yield Command(role, self._value(role).value)
        if not isinstance(sent, Sent) or sent.outcome is Outcome.REFUSED:
            return False
        yield from self.seen.look()
        while self.seen.bit(_SHOWS) is not shows:
            yield from self.seen.look()
            if self.seen.at_ns - sent.at_ns > SEEN_WITHIN_S * 1e9:
                return False
        yield from self.seen.watch_for(STILL_S)
        return True

    def _raw(self, percent: float) -> int:
        point = self.sheet.point(SET_POINT)
        return round(percent / (1.0 if point is None else point.scale))

    def _value(self, role: str) -> CommandValue:
        point = self.sheet.point(role)
        return CommandValue(role, 1 if point is None else point.value)


def _travel(item: object) -> Reading | None:
    return item.get("travel") if isinstance(item, Readings) else None


def _numbers(text: str, most: float) -> tuple[float, ...]:
    """
    Steps as they are written.

    Raises:
        ValueError: one is no number, larger than the sheet allows, or there are too many.
    """
    try:
        steps = tuple(float(part) for part in text.split())
    except ValueError:
        raise ValueError(f"steps: numbers in % of travel, as 2 -2 5 -5, not {text!r}") from None
    if not 0 < len(steps) <= MOST_STEPS or max(abs(step) for step in steps) > most:
        raise ValueError(f"steps: 1 to {MOST_STEPS}, none above {most:g} %, which the sheet allows")
    return steps
