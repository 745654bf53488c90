"""
K1: time one full stroke.

See the valve stand still at its start end. Give the command. Watch until the end limit makes and travel stands still.
Keep watching until the pressure has settled and the motor has stopped. Time it afterwards, from what was seen.
"""

from collections.abc import Generator

from commission.analysis.observed import StrokeEnd, StrokeObserved, limit_role
from commission.analysis.surroundings import SURROUNDINGS
from commission.procedures.guards import GuardSet, stroke_guards
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
from commission.sample import Outcome, Silence, Written
from commission.sheet import End, Sheet
from commission.sheet.decode import Readings

WATCHED = (
    "travel", "open_limit", "closed_limit", "cylinder_pressure", "motor_running", "motor_current", *SURROUNDINGS,
)  # fmt: skip

STILL_TRAVEL = 0.01
"""Before the command, travel within 1 % of itself for half a second stands still (common practice, no source)."""

STOPPED_TRAVEL = 0.001
"""After it, within 0.1 %, or twice what noise showed before: a pump stroke moves only 0.25 % in half a second."""

STILL_S = 0.5
SETTLES_WITHIN_S = 10.0
"""How long after the end limit travel may go on creeping before nobody waits for it any more."""

MOTOR_STOPS_WITHIN_S = 30.0
"""How long after the stroke the pump may go on to its cut-out before nobody waits for it any more."""

_NO_SAMPLE = "no sample came before the command"

Steps = Generator[Request, Reply, bool]


def full_stroke(
    sheet: Sheet, direction: End, test: str, *, still_before_s: float = 1.0, still_after_s: float = 2.0
) -> Procedure[StrokeObserved]:
    """
    One timed full stroke, commanded from here.

    Args:
        sheet: The unit's sheet.

        direction: The end to go to.

        test: Names the run, as `K1 closed 2`.

        still_before_s: How long the valve is seen at rest before the command.

        still_after_s: How long it is seen at rest afterwards.

    Returns:
        All that was seen, ready for `analysis.timing`.

    Raises:
        ValueError: the unit has no point for a command or limit that the stroke needs; the message says which.
    """
    stroke = Stroke(sheet, direction, test)
    guards = stroke_guards(sheet, direction)
    timeout_s = travel_timeout_s(sheet, direction)
    longest_s = still_before_s + timeout_s + still_after_s + MOTOR_STOPS_WITHIN_S

    yield begin_stroke(stroke, guards, longest_s)
    for sentence in guards.missing:
        yield Note(sentence)

    yield from stroke.watch_for(still_before_s)
    if not_ready := stroke.why_not_ready():
        yield Note(not_ready)
        return stroke.observed(StrokeEnd.NOT_READY, not_ready)

    sent = yield Command(stroke.command.role, stroke.command.value)
    stroke.take_command(sent)
    if stroke.refused:
        return stroke.observed(StrokeEnd.REFUSED, stroke.refused)

    home = yield from stroke.watch_until_home(timeout_s)
    if not home:
        words = f"end of travel not reached in {timeout_s:g} s"
        yield Note(words)
        return stroke.observed(StrokeEnd.NO_MOTION if stroke.command_lost else StrokeEnd.TIMED_OUT, words)

    yield from stroke.watch_for(still_after_s)
    yield from stroke.watch_until_motor_stops(MOTOR_STOPS_WITHIN_S)
    return stroke.observed(StrokeEnd.HOME)


def travel_timeout_s(sheet: Sheet, direction: End) -> float:
    """The unit's own time-out for travel to this end."""
    protections = sheet.protections
    return protections.travel_timeout_open_s if direction is End.OPEN else protections.travel_timeout_close_s


def safe_end(sheet: Sheet, direction: End) -> tuple[SafeEnd, CommandValue | None]:
    """`stop` where the sheet says that stop stops this motion and the unit has the command; else `send nothing`."""
    behaviour = sheet.behaviour
    stops = behaviour.stop_stops_opening if direction is End.OPEN else behaviour.stop_stops_closing
    point = sheet.point("command_stop")
    if stops and point is not None:
        return SafeEnd.STOP, CommandValue(point.role, point.value)
    return SafeEnd.SEND_NOTHING, None


def watched_roles(sheet: Sheet, more: tuple[str, ...] = ()) -> tuple[str, ...]:
    """The points that a stroke is watched by, as far as the unit has them, and `more`."""
    return tuple(dict.fromkeys(role for role in (*WATCHED, *more) if sheet.has(role)))


def begin_stroke(stroke: "Stroke", guards: GuardSet, longest_s: float) -> Begin:
    """What a stroke commanded from here begins with."""
    end, command = safe_end(stroke.sheet, stroke.direction)
    return Begin(
        test=stroke.test,
        commands=(stroke.command,),
        safe_end=end,
        safe_command=command,
        guards=guards.guards,
        roles=watched_roles(stroke.sheet, guards.roles),
        longest_s=longest_s,
    )


class Stroke:
    """What has been seen of the stroke so far, and the ways of watching it."""

    def __init__(self, sheet: Sheet, direction: End, test: str) -> None:
        self.sheet, self.direction, self.test = sheet, direction, test
        _need(sheet, "open_limit", "closed_limit")
        self._end_limit = limit_role(direction)
        self._start_limit = limit_role(End.CLOSED if direction is End.OPEN else End.OPEN)
        self._seen: list[Readings | Silence] = []
        self._sent: Sent | None = None
        self._moved = False
        self._stopped_band = STOPPED_TRAVEL

    @property
    def command(self) -> CommandValue:
        """What a stroke from here is commanded by; one that is only watched needs none."""
        role = "command_open" if self.direction is End.OPEN else "command_close"
        _need(self.sheet, role)
        point = self.sheet.point(role)
        return CommandValue(role, 1 if point is None else point.value)

    @property
    def refused(self) -> str:
        """Why the unit refused the command, or empty."""
        if self._sent is None or self._sent.outcome is not Outcome.REFUSED:
            return ""
        return self._sent.reason or StrokeEnd.REFUSED.value

    @property
    def command_lost(self) -> bool:
        """Whether the command had no answer and nothing has moved."""
        return self._sent is not None and self._sent.outcome is Outcome.UNANSWERED and not self._moved

    def take_command(self, reply: Reply) -> None:
        """Keep what became of the command."""
        if not isinstance(reply, Sent):
            raise TypeError(f"the reply to a command is Sent, not {reply!r}")
        self._sent = reply
        self._stopped_band = max(STOPPED_TRAVEL, 2 * self._recent_range())

    def watch(self) -> Generator[Request, Reply, int]:
        """Take the next sample or silence; its time, in nanoseconds."""
        item = yield Watch()
        if not isinstance(item, Readings | Silence):
            raise TypeError(f"the reply to Watch is Readings or Silence, not {item!r}")
        self._seen.append(item)
        return item.at_ns

    def watch_for(self, seconds: float) -> Steps:
        """Watch for so many seconds; True."""
        begun_ns = at_ns = yield from self.watch()
        while at_ns - begun_ns < seconds * 1e9:
            at_ns = yield from self.watch()
        return True

    def watch_until_left(self, within_s: float) -> Steps:
        """Watch until the valve leaves its start end; False where that takes too long."""
        begun_ns = self._seen[-1].at_ns
        while not self._has_left():
            if (yield from self.watch()) - begun_ns > within_s * 1e9:
                return False
        self._moved = True
        self._stopped_band = STOPPED_TRAVEL
        yield Note("moving")
        return True

    def watch_until_home(self, within_s: float) -> Steps:
        """Watch until the end limit is made and travel stands still; False where that takes too long."""
        begun_ns = self._sent.at_ns if self._sent else self._seen[-1].at_ns
        made_ns: int | None = None
        while True:
            at_ns = yield from self.watch()
            if not self._moved and self._has_left():
                self._moved = True
                yield Note("moving")
            if not self._bit(self._end_limit):
                made_ns = None
            else:
                made_ns = at_ns if made_ns is None else made_ns
                if self._recent_range() <= self._stopped_band or at_ns - made_ns > SETTLES_WITHIN_S * 1e9:
                    return True
            if at_ns - begun_ns > within_s * 1e9:
                return False

    def watch_until_motor_stops(self, within_s: float) -> Steps:
        """Watch until the motor has stopped; False where it runs on."""
        begun_ns = at_ns = self._seen[-1].at_ns
        while self._bit("motor_running"):
            if at_ns - begun_ns > within_s * 1e9:
                return False
            at_ns = yield from self.watch()
        return True

    def why_not_ready(self) -> str:
        """Why no stroke can be timed from here, or empty."""
        start = "open" if self.direction is End.CLOSED else "closed"
        if self._latest() is None:
            return _NO_SAMPLE
        if self.is_home:
            return f"the {self.direction.value} limit is made already"
        if not self._bit(self._start_limit):
            return f"not at the start end: the {start} limit is not made; bring it there at the local panel"
        return self.why_not_still()

    def why_not_still(self) -> str:
        """Why no movement may be begun from here, wherever it stands; or empty."""
        if self._latest() is None:
            return _NO_SAMPLE
        return "" if self._recent_range() <= STILL_TRAVEL else "travel is not still"

    @property
    def is_home(self) -> bool:
        """Whether its end limit is made now."""
        return self._bit(self._end_limit)

    def observed(self, ended: StrokeEnd, why: str = "", commanded_by: str = "laptop") -> StrokeObserved:
        """All that was seen, and who commanded it."""
        sent = self._sent
        command = None if sent is None else Written(sent.at_ns, sent.half_width_ns, sent.outcome, sent.reason)
        return StrokeObserved(
            test=self.test,
            direction=self.direction,
            command=command,
            seen=tuple(self._seen),
            ended=ended,
            why=why,
            commanded_by=commanded_by,
        )

    def _latest(self) -> Readings | None:
        return next((item for item in reversed(self._seen) if isinstance(item, Readings)), None)

    def _bit(self, role: str) -> bool:
        latest = self._latest()
        return latest is not None and bool(latest.bit(role))

    def _has_left(self) -> bool:
        return not self._bit(self._start_limit)

    def _recent_range(self) -> float:
        """How much travel has changed in the last half second; 0 on a unit without travel."""
        latest_ns = self._seen[-1].at_ns
        travels: list[float] = []
        for item in reversed(self._seen):
            travel = item.value("travel") if isinstance(item, Readings) else None
            if travel is not None:
                travels.append(travel)
            if latest_ns - item.at_ns >= STILL_S * 1e9:
                break
        return max(travels) - min(travels) if travels else 0.0


def _need(sheet: Sheet, *roles: str) -> None:
    for needed in roles:
        if not sheet.has(needed):
            raise ValueError(f"a full stroke needs a point for {needed}; this unit has none")
