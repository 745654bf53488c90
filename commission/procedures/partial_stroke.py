"""
L: one partial stroke, in the unit's own way (safety rule R22).

See the valve stand still, and look at all that must hold. Start it. Where the unit turns it round, watch. Where the
laptop does, go to 5 % first, measure there how long turning takes, and go on only where the sum allows it. Where
somebody else starts it, only watch. Watch it home, and ten seconds more.
"""

from collections.abc import Generator

from commission.analysis.observed import limit_role
from commission.analysis.partial import Check, PartialEnd, PartialObserved
from commission.procedures.partial_bounds import FAST_TIMES, longest_back_s, longest_out_s, start_end
from commission.procedures.partial_checks import checked_roles, checks
from commission.procedures.partial_guards import MOVED, Phase, Progress, partial_guards
from commission.procedures.partial_told import Told
from commission.procedures.requests import (
    Begin,
    Command,
    CommandValue,
    Note,
    Procedure,
    Reply,
    Request,
    SafeEnd,
    Sent,
    Watch,
)
from commission.procedures.turn_round import TurnRound
from commission.sample import Outcome, Silence, Written
from commission.sheet import End, Sheet
from commission.sheet.decode import Readings
from commission.sheet.model import PartialStroke

WATCHED = ("travel", "open_limit", "closed_limit", "cylinder_pressure", "motor_running", "motor_current")

FIRST_PCT = 5.0
"""How far the laptop goes to measure the turning (safety rule R22)."""

REVERSAL_S = 0.5
"""What turning is taken to need before it was measured (common practice, no source)."""

STILL_AFTER_S = 10.0
TRIES = 3
"""So often the minute of standing still with a good line is begun anew."""

BEGINS_WITHIN_S = 180.0
_TURNED = 0.003

Steps = Generator[Request, Reply, bool]


def partial_stroke(sheet: Sheet, told: Told) -> Procedure[PartialObserved]:
    """
    One partial stroke.

    Args:
        sheet: The unit's sheet.

        told: What is known besides.

    Returns:
        All that was seen, ready for `analysis.partial`.

    Raises:
        ValueError: the unit has no partial stroke, or no point for a command or limit that it needs.
    """
    plan = plan_of(sheet)
    stroke = _Stroke(sheet, plan, told)
    yield stroke.begin()
    for sentence in stroke.guards.missing:
        yield Note(sentence)
    ready = yield from stroke.watch_until_ready()
    if not ready:
        return stroke.observed(PartialEnd.NOT_READY)
    if plan.turned_by == "watched":
        return (yield from _watched(stroke))
    if plan.turned_by == "unit" or told.turn_at_pct is not None:
        return (yield from _by_the_unit(stroke))
    return (yield from _by_the_laptop(stroke))


def plan_of(sheet: Sheet) -> PartialStroke:
    """
    The sheet's partial stroke.

    Raises:
        ValueError: there is none, it is refused for a normally closed vent, or a point is missing.
    """
    plan = sheet.partial_stroke
    if sheet.valve.normally_closed_vent:
        raise ValueError("a partial stroke of a normally closed vent is refused: it would vent the line")
    if plan is None:
        raise ValueError("the sheet has no partial stroke")
    needed = ["travel", limit_role(start_end(sheet))]
    if plan.turned_by == "unit":
        needed.append("command_partial_stroke")
    if plan.turned_by == "laptop":
        needed.append(away_role(sheet))
    if plan.turned_by != "watched":
        needed.append(return_role(sheet))
    missing = [role for role in needed if not sheet.has(role)]
    if missing:
        raise ValueError(f"a partial stroke needs a point for {', '.join(missing)}; this unit has none")
    return plan


def return_role(sheet: Sheet) -> str:
    """The command that brings the valve back."""
    return "command_open" if start_end(sheet) is End.OPEN else "command_close"


def away_role(sheet: Sheet) -> str:
    """The command that the laptop goes out by."""
    return "command_close" if start_end(sheet) is End.OPEN else "command_open"


def _by_the_unit(stroke: "_Stroke") -> Procedure[PartialObserved]:
    plan, told = stroke.plan, stroke.told
    sent = yield Command(stroke.start.role, stroke.start.value)
    if not stroke.take_start(sent):
        return stroke.observed(PartialEnd.REFUSED)
    if told.turn_at_pct is not None:
        reached = yield from stroke.watch_out(told.turn_at_pct / 100, longest_out_s(stroke.sheet, plan, told))
        if reached:
            yield Note(f"returning on purpose at {told.turn_at_pct:g} %")
            stroke.take_return((yield Command(stroke.back.role, stroke.back.value)))
    turned = yield from stroke.watch_until_turned(plan.guard_time_s + longest_out_s(stroke.sheet, plan, told))
    if not turned:
        return stroke.observed(PartialEnd.NO_MOTION if not stroke.moved else PartialEnd.NOT_HOME)
    return (yield from _home(stroke))


def _by_the_laptop(stroke: "_Stroke") -> Procedure[PartialObserved]:
    plan = stroke.plan
    hard = plan.guard_travel_pct / 100
    expected = _sum(
        stroke, FIRST_PCT / 100, plan.target_pct / 100 / plan.out_s * FAST_TIMES, REVERSAL_S, measured=False
    )
    yield Note(f"first to {FIRST_PCT:g} %: {expected}")
    if not expected.holds:
        stroke.why = f"to {FIRST_PCT:g} %: {expected}"
        return stroke.observed(PartialEnd.NOT_SHOWN_SAFE)
    first = yield from _out_and_back(stroke, FIRST_PCT / 100, stroke.expected_speed, REVERSAL_S)
    if first is not None:
        return stroke.observed(first)
    measured = _sum(stroke, plan.target_pct / 100, stroke.fastest * FAST_TIMES, stroke.reversal_s, measured=True)
    yield Note(f"to {plan.target_pct:g} %, hard limit {hard * 100:g} %: {measured}")
    if not measured.holds:
        stroke.why = str(measured)
        return stroke.observed(PartialEnd.NOT_SHOWN_SAFE)
    stroke.why = f"shown safe: {measured}"
    second = yield from _out_and_back(stroke, plan.target_pct / 100, stroke.fastest, stroke.reversal_s)
    if second is not None:
        return stroke.observed(second)
    yield from stroke.watch_for(STILL_AFTER_S)
    return stroke.observed(PartialEnd.HOME)


def _out_and_back(
    stroke: "_Stroke", target: float, speed: float, reversal_s: float
) -> Generator[Request, Reply, PartialEnd | None]:
    """To a target and home, the return sent ahead of it; None where it came home."""
    plan, told = stroke.plan, stroke.told
    stroke.aim(target)
    sent = yield Command(stroke.start.role, stroke.start.value)
    if not stroke.take_start(sent):
        return PartialEnd.REFUSED
    ahead = speed * (reversal_s + told.latency_s * told.speed)
    reached = yield from stroke.watch_out(max(target / 2, target - ahead), longest_out_s(stroke.sheet, plan, told))
    stroke.take_return((yield Command(stroke.back.role, stroke.back.value)))
    if not reached and not stroke.moved:
        return PartialEnd.NO_MOTION
    turned = yield from stroke.watch_until_turned(plan.guard_time_s)
    if not turned:
        return PartialEnd.NOT_HOME
    home = yield from stroke.watch_home(longest_back_s(plan) + 10)
    return None if home else PartialEnd.NOT_HOME


def _watched(stroke: "_Stroke") -> Procedure[PartialObserved]:
    plan = stroke.plan
    yield Note(f"waiting for {stroke.told.commanded_by}")
    stroke.wait_for_motion()
    begun = yield from stroke.watch_out(MOVED, BEGINS_WITHIN_S)
    if not begun:
        stroke.why = f"nothing moved in {BEGINS_WITHIN_S:g} s"
        return stroke.observed(PartialEnd.NO_MOTION)
    turned = yield from stroke.watch_until_turned(2 * plan.guard_time_s)
    if not turned:
        return stroke.observed(PartialEnd.NOT_HOME)
    return (yield from _home(stroke))


def _home(stroke: "_Stroke") -> Procedure[PartialObserved]:
    home = yield from stroke.watch_home(longest_back_s(stroke.plan) + 10)
    if not home:
        yield Note(PartialEnd.NOT_HOME.value)
        return stroke.observed(PartialEnd.NOT_HOME)
    yield from stroke.watch_for(STILL_AFTER_S)
    return stroke.observed(PartialEnd.HOME)


def _sum(stroke: "_Stroke", target: float, speed: float, reversal_s: float, *, measured: bool) -> TurnRound:
    told = stroke.told
    return TurnRound(
        speed=speed,
        gap_s=told.gap_s * told.speed,
        latency_s=told.latency_s * told.speed,
        reversal_s=reversal_s,
        target=target,
        hard_limit=stroke.plan.guard_travel_pct / 100,
        measured=measured,
    )


class _Stroke:
    """What has been seen so far, and the ways of watching it."""

    def __init__(self, sheet: Sheet, plan: PartialStroke, told: Told) -> None:
        self.sheet, self.plan, self.told = sheet, plan, told
        target = plan.target_pct if told.turn_at_pct is None else told.turn_at_pct
        self.progress = Progress(start_end(sheet), target / 100)
        self.guards = partial_guards(sheet, plan, told, self.progress)
        self.start = _value(sheet, "command_partial_stroke" if plan.turned_by == "unit" else away_role(sheet))
        self.back = _value(sheet, return_role(sheet))
        self.why = ""
        self.fastest = 0.0
        self.reversal_s = REVERSAL_S
        self._limit = limit_role(self.progress.start_end)
        self._seen: list[Readings | Silence] = []
        self._checks: tuple[Check, ...] = ()
        self._command: Sent | None = None
        self._returned: Sent | None = None
        self._farthest = 0.0
        self._farthest_ns = 0
        self._last: tuple[int, float] | None = None

    @property
    def moved(self) -> bool:
        """Whether it was seen off its end."""
        return self._farthest > MOVED

    @property
    def expected_speed(self) -> float:
        """The sheet's, fraction of travel a second."""
        return self.plan.target_pct / 100 / self.plan.out_s

    def begin(self) -> Begin:
        """What is about to be done."""
        watched = self.plan.turned_by == "watched"
        longest_s = (
            TRIES * self.told.steady_s + longest_out_s(self.sheet, self.plan, self.told) + longest_back_s(self.plan)
        )
        more_s = self.plan.guard_time_s + STILL_AFTER_S + 30
        stop = _stop(self.sheet)
        commands: tuple[CommandValue, ...] = () if watched else (self.start,)
        if self.told.turn_at_pct is not None or self.plan.turned_by == "laptop":
            commands = (self.start, self.back)
        roles = dict.fromkeys(role for role in (*WATCHED, *checked_roles(self.sheet)) if self.sheet.has(role))
        return Begin(
            test=self.told.test,
            commands=commands,
            safe_end=SafeEnd.SEND_NOTHING if watched else SafeEnd.RETURN,
            safe_command=None if watched else self.back,
            guards={} if watched else self.guards.guards,
            roles=tuple(dict.fromkeys((*roles, *self.guards.roles))),
            longest_s=longest_s + more_s + (BEGINS_WITHIN_S if watched else 0.0),
            gap_s=BEGINS_WITHIN_S if watched else self.told.gap_s,
            stop_command=None if watched else stop,
            own_guard_s=self.plan.guard_time_s if self.plan.turned_by == "unit" else None,
            home_within_s=longest_back_s(self.plan),
        )

    def watch(self) -> Generator[Request, Reply, Readings | Silence]:
        """Take the next sample or silence."""
        item = yield Watch()
        if not isinstance(item, Readings | Silence):
            raise TypeError(f"the reply to Watch is Readings or Silence, not {item!r}")
        self._seen.append(item)
        if isinstance(item, Readings):
            self._follow(item)
        return item

    def watch_for(self, seconds: float) -> Steps:
        """Watch for so many seconds; True."""
        begun_ns = self._seen[-1].at_ns
        while (yield from self.watch()).at_ns - begun_ns < seconds * 1e9:
            pass
        return True

    def watch_until_ready(self) -> Steps:
        """See it stand still with a good line, then look at everything; False where something does not hold."""
        still: list[Readings] = []
        tries = 1
        while not still or still[-1].at_ns - still[0].at_ns < self.told.steady_s * 1e9:
            item = yield from self.watch()
            if isinstance(item, Readings):
                still.append(item)
                continue
            tries += 1
            if tries > TRIES:
                self.why = f"the line was not good for {self.told.steady_s:g} s on end: {item.reason}"
                yield Note(self.why)
                return False
            still = []
        self.progress.line_pa = still[-1].value("pipeline_pressure")
        self._checks = checks(self.sheet, self.plan, self.told, self.progress, still, still[-1].at_ns)
        for check in self._checks:
            yield Note(str(check))
        self.why = "; ".join(str(check) for check in self._checks if not check.holds)
        return not self.why

    def aim(self, target: float) -> None:
        """Another target, from the start end again."""
        self.progress.target = target
        self._farthest, self._farthest_ns, self._last, self._returned = 0.0, 0, None, None

    def take_start(self, reply: Reply) -> bool:
        """Keep what became of the command; False where the unit refused it."""
        if not isinstance(reply, Sent):
            raise TypeError(f"the reply to a command is Sent, not {reply!r}")
        self._command = reply
        if reply.outcome is Outcome.REFUSED:
            self.why = reply.reason or PartialEnd.REFUSED.value
            return False
        self.progress.enter(Phase.OUT, reply.at_ns)
        return True

    def wait_for_motion(self) -> None:
        """From here on it may go out at any moment, by somebody else's command."""
        self.progress.enter(Phase.OUT, self._seen[-1].at_ns)

    def take_return(self, reply: Reply) -> None:
        """Keep what became of the return."""
        if isinstance(reply, Sent):
            self._returned = reply

    def watch_out(self, target: float, within_s: float) -> Steps:
        """Watch until it is so far out; False where that takes too long."""
        begun_ns = self._seen[-1].at_ns
        while self._farthest < target:
            if (yield from self.watch()).at_ns - begun_ns > within_s * 1e9:
                return False
        return True

    def watch_until_turned(self, within_s: float) -> Steps:
        """Watch until it is on its way back; False where that takes too long."""
        begun_ns = self._seen[-1].at_ns
        while not self._has_turned():
            if (yield from self.watch()).at_ns - begun_ns > within_s * 1e9:
                return False
        if self._returned is not None:
            self.reversal_s = max(0.0, (self._farthest_ns - self._returned.at_ns) / 1e9)
        self.progress.enter(Phase.BACK, self._seen[-1].at_ns)
        yield Note(f"turned at {self._farthest * 100:.1f} %")
        return True

    def watch_home(self, within_s: float) -> Steps:
        """Watch until its limit is made and the motor has stopped, where it shows; False where it takes too long."""
        begun_ns = self._seen[-1].at_ns
        while True:
            item = yield from self.watch()
            if isinstance(item, Readings) and item.bit(self._limit):
                if self.progress.phase is not Phase.HOME:
                    self.progress.enter(Phase.HOME, item.at_ns)
                if not item.bit("motor_running"):
                    return True
            if item.at_ns - begun_ns > within_s * 1e9:
                return self.progress.phase is Phase.HOME

    def observed(self, ended: PartialEnd) -> PartialObserved:
        """All that was seen."""
        watched = self.plan.turned_by == "watched"
        return PartialObserved(
            test=self.told.test,
            start_end=self.progress.start_end,
            target=self.progress.target,
            command=_written(self._command),
            returned=_written(self._returned),
            seen=tuple(self._seen),
            ended=ended,
            why=self.why,
            checks=self._checks,
            commanded_by=self.told.commanded_by if watched else "laptop",
        )

    def _has_turned(self) -> bool:
        latest = next((item for item in reversed(self._seen) if isinstance(item, Readings)), None)
        away = None if latest is None else self.progress.away(latest)
        if away is None or latest is None or not self.moved:
            return False
        return away < self._farthest - _TURNED or bool(latest.bit("motor_running"))

    def _follow(self, readings: Readings) -> None:
        """Remember the farthest place and the fastest half second."""
        away = self.progress.away(readings)
        if away is None or self.progress.phase is not Phase.OUT:
            return
        if away > self._farthest:
            self._farthest, self._farthest_ns = away, readings.at_ns
        if self._last is None:
            self._last = (readings.at_ns, away)
        elif readings.at_ns - self._last[0] >= 0.5e9:
            self.fastest = max(self.fastest, (away - self._last[1]) / ((readings.at_ns - self._last[0]) / 1e9))
            self._last = (readings.at_ns, away)


def _value(sheet: Sheet, role: str) -> CommandValue:
    point = sheet.point(role)
    return CommandValue(role, 1 if point is None else point.value)


def _stop(sheet: Sheet) -> CommandValue | None:
    """The stop, where the sheet says that it stops the valve on its way out and back."""
    behaviour = sheet.behaviour
    if behaviour.stop_stops_opening and behaviour.stop_stops_closing and sheet.has("command_stop"):
        return _value(sheet, "command_stop")
    return None


def _written(sent: Sent | None) -> Written | None:
    return None if sent is None else Written(sent.at_ns, sent.half_width_ns, sent.outcome, sent.reason)
