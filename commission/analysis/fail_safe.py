"""
A fail-safe stroke: what somebody's act did to the valve, and whether anything moved that should not have.

It is watched, never commanded from here. Its time comes from the samples where the link lives and the unit shows the
cause (the ESD bit, the command current), else from what was typed in (`outside_times`), else it is "at least" (safety
rule R19). What followed each act afterwards is a `Proof`: power back, reset, and nothing moves.
"""

import math
from enum import StrEnum

import msgspec

from commission.analysis import edges
from commission.analysis.budget import Budget, normal
from commission.analysis.durations import duration_figure
from commission.analysis.intervals import Instant
from commission.analysis.moments import moments
from commission.analysis.observed import StrokeEnd, StrokeObserved
from commission.analysis.outside_times import OutsideTimes, Source, outside_figure
from commission.analysis.timing import NoMotion, stroke_times
from commission.figure import Figure
from commission.sample import Silence
from commission.sheet import End, Sheet
from commission.sheet.decode import Reading, Readings

HELD = "moved_while_held"
RESPONSE = "response_time"
METHOD = "fail_safe.held/1"

MOVED = 0.01
"""More travel than 1 % is a movement (common practice, no source)."""

PAUSE_OF_EXPECTED = 1 / 16
SLOW_SHARE = 0.1
"""Stopped midway: in a sixteenth of the expected time it came on by less than a tenth of what is usual on average."""

_MIDWAY = (0.05, 0.9)
_LEAST_READINGS = 5
_RUNNING_SHARE = 0.2


class Cause(StrEnum):
    """What was taken away, or done."""

    SIGNAL = "command signal"
    MOTOR = "motor supply"
    CONTROL = "control supply"
    ALL = "all supplies"
    ESD = "ESD"
    LOCAL_ESD = "local ESD"

    @property
    def is_esd(self) -> bool:
        """Whether a reset has to follow."""
        return self in (Cause.ESD, Cause.LOCAL_ESD)

    @property
    def is_supply(self) -> bool:
        """Whether a supply is off meanwhile."""
        return self in (Cause.MOTOR, Cause.CONTROL, Cause.ALL)


class FailSafeEnd(StrEnum):
    """How the watching ended."""

    DONE = "seen to its end"
    NOT_READY = "not ready for it"
    NOT_HOME = "the safe end was not reached in time"
    NOT_CAUSED = "nothing was caused"


class Proof(msgspec.Struct, frozen=True, kw_only=True):
    """
    One act after the stroke, and what followed it.

    Args:
        act: In words, as `power given back`.

        watched_s: How long it was watched.

        moved: Largest change of travel meanwhile, as a fraction; None where travel was not read.

        limit_dropped: Whether the limit it stood on dropped.

        said: What a person saw of it; empty where nobody was asked.

        wanted: What should have been said.

        fault: What is wrong besides, in words.
    """

    act: str
    watched_s: float
    moved: float | None = None
    limit_dropped: bool = False
    said: str = ""
    wanted: str = ""
    fault: str = ""

    @property
    def wrong(self) -> str:
        """What is wrong with it, in words; empty where it is as it should be."""
        if self.limit_dropped or (self.moved is not None and self.moved > MOVED):
            by = "" if self.moved is None else f" by {self.moved * 100:.1f} %"
            return f"{self.act}: the valve moved{by}"
        if self.wanted and self.said != self.wanted:
            return f"{self.act}: {self.said or 'not said'}, where {self.wanted} was expected"
        return f"{self.act}: {self.fault}" if self.fault else ""

    @property
    def words(self) -> str:
        """What was seen, in one sentence."""
        return self.wrong or f"{self.act}: {self.said or 'nothing moved'} (watched {self.watched_s:.0f} s)"


class FailSafeObserved(msgspec.Struct, frozen=True, kw_only=True):
    """
    One fail-safe stroke as it was seen.

    Args:
        test: Names the run.

        cause: What caused it.

        by: Who or what gave the cause, in words.

        goes_to: The end it has to go to; None where it has to stay.

        opposite: It was under way to the other end when it was caused.

        pump_off: The motor has to stand still from the cause on.

        seen: Every sample and silence, from before the cause until the stroke was over.

        ended: How the watching ended.

        why: More words about that.

        outside: Times from outside the link, where there are any.

        stem: What the stem mark was seen to show at the end; empty where nobody was asked.

        proofs: What followed afterwards.
    """

    test: str
    cause: Cause
    by: str
    goes_to: End | None
    opposite: bool
    pump_off: bool
    seen: tuple[Readings | Silence, ...]
    ended: FailSafeEnd
    why: str = ""
    outside: OutsideTimes | None = None
    stem: str = ""
    proofs: tuple[Proof, ...] = ()

    @property
    def stroke(self) -> StrokeObserved:
        """The same as a stroke, without a command of ours."""
        end = StrokeEnd.TIMED_OUT if self.ended is FailSafeEnd.NOT_HOME else StrokeEnd.HOME
        return StrokeObserved(
            test=self.test, direction=self.goes_to or End.CLOSED, command=None, seen=self.seen, ended=end
        )

    @property
    def timed_by(self) -> str:
        """What timed it (safety rule R19)."""
        if self.goes_to is None:
            return "watched over the link" if self.seen else "looked at"
        if self.outside is None or self.outside.timer.source is Source.LINK:
            return "samples over the link"
        return self.outside.timer.words

    @property
    def commanded_by(self) -> str:
        """Who caused it (safety rule R19)."""
        return f"{self.cause.value}: {self.by}" if self.by else self.cause.value


def caused_at(observed: FailSafeObserved, sheet: Sheet) -> Instant | None:
    """When the unit showed the cause: its ESD bit, or the command below what counts as lost; None where it has none."""
    stroke, scan_ns = observed.stroke, round(sheet.link.scan_s * 1e9)
    plan = sheet.modulating
    if observed.cause is Cause.SIGNAL and plan is not None and plan.command.lost_below is not None:
        lost_a = plan.command.lost_below / 1e3
        return edges.first_change(stroke.track("command_current"), lambda value: value < lost_a, scan_ns)
    if observed.cause.is_supply:
        return None
    return edges.first_change(stroke.track("esd_healthy"), lambda value: not value, scan_ns)


def fail_safe_figures(observed: FailSafeObserved, sheet: Sheet) -> tuple[Figure, ...]:
    """
    The figures of a fail-safe stroke, the one to be judged first.

    A time without a known beginning is "at least": it can fail an upper limit and never pass one (safety rule R19).

    Raises:
        NoMotion: nothing was caused.
    """
    if observed.ended in (FailSafeEnd.NOT_READY, FailSafeEnd.NOT_CAUSED):
        raise NoMotion(f"{observed.test}: {observed.why or observed.ended.value}")
    if observed.goes_to is None:
        return _held(observed, sheet)
    t0 = caused_at(observed, sheet)
    seen = msgspec.structs.replace(moments(observed.stroke, sheet), t0=t0)
    times = stroke_times(seen) if seen.t6 is not None else {}
    if observed.opposite:  # its other times are those of two strokes
        times = {name: figure for name, figure in times.items() if name == RESPONSE}
    response = times.pop(RESPONSE, None)
    outside = None if observed.outside is None else outside_figure(observed.outside, t0)
    first = [figure for figure in (response, outside) if figure is not None]
    first.sort(key=lambda figure: figure.lower_bound_only)
    return tuple(figure for figure in (*first, *times.values()) if _says_something(figure))


def _says_something(figure: Figure) -> bool:
    """Of a stroke that lies in one silence from end to end the samples say nothing."""
    in_a_gap = "between last seen" in figure.note
    return not in_a_gap or figure.uncertainty_decimal < figure.decimal


def _held(observed: FailSafeObserved, sheet: Sheet) -> tuple[Figure, ...]:
    """How far it moved where it had to stay, and when the loss of its signal was alarmed."""
    travel = observed.stroke.track("travel")
    if len(travel) < _LEAST_READINGS:
        return ()
    start, noise = edges.mean_and_noise(travel[:_LEAST_READINGS])
    farthest = max(abs(reading.value - start) for reading in travel)
    lines = (normal("noise of travel", noise * math.sqrt(1 + 1 / _LEAST_READINGS)),)
    figures = [Budget(lines).figure(HELD, farthest, "1", METHOD)]
    t0, scan_ns = caused_at(observed, sheet), round(sheet.link.scan_s * 1e9)
    alarm = edges.first_change(observed.stroke.track("alarm_signal_lost"), bool, scan_ns)
    if t0 is not None and alarm is not None:
        figures.append(duration_figure("alarm_delay", t0, alarm, METHOD))
    return tuple(figures)


def faults(observed: FailSafeObserved, sheet: Sheet) -> tuple[str, ...]:
    """What is wrong whatever the time says, a sentence each; empty where all was as it should be."""
    if observed.ended in (FailSafeEnd.NOT_READY, FailSafeEnd.NOT_CAUSED):
        return ()
    found = [proof.wrong for proof in observed.proofs if proof.wrong]
    if observed.ended is FailSafeEnd.NOT_HOME:
        found.insert(0, observed.why or observed.ended.value)
    wanted = observed.goes_to
    if wanted is not None and observed.stem and observed.stem != wanted.value:
        found.insert(0, f"the stem mark shows {observed.stem}, not {wanted.value}")
    if wanted is not None and not observed.opposite:
        found += _stopped_midway(observed, sheet)
    if observed.pump_off and _pump_ran(observed, sheet):
        found.append("the pump ran: the stroke was not made by stored energy alone")
    return tuple(found)


def _pump_ran(observed: FailSafeObserved, sheet: Sheet) -> bool:
    """By its current where it is read: a contactor may pull in behind an isolator that is locked off."""
    current = observed.stroke.track("motor_current")
    running_a = sheet.supply.running_a
    if current and running_a:
        return any(reading.value > _RUNNING_SHARE * running_a for reading in current)
    return any(reading.is_true for reading in observed.stroke.track("motor_running"))


def expected_s(sheet: Sheet, end: End) -> float:
    """How long the sheet expects the emergency stroke to this end to take, in seconds."""
    by_end = sheet.strokes.opening if end is End.OPEN else sheet.strokes.closing
    return (sheet.strokes.emergency or by_end).expected_s


def _stopped_midway(observed: FailSafeObserved, sheet: Sheet) -> list[str]:
    """A stretch of the way that took much too long for how little it was, away from both ends."""
    progress = [r for r in observed.stroke.progress() if _MIDWAY[0] < r.value < _MIDWAY[1]]
    whole_s = expected_s(sheet, observed.goes_to or End.CLOSED)
    window_s = whole_s * PAUSE_OF_EXPECTED
    least = SLOW_SHARE * window_s / whole_s
    for place, first in enumerate(progress):
        later = next((r for r in progress[place + 1 :] if r.at_ns - first.at_ns >= window_s * 1e9), None)
        if later is not None and not _gap_in(progress[place:], later) and later.value - first.value < least:
            return [f"it stopped on the way, at {first.value * 100:.0f} % of it"]
    return []


def _gap_in(progress: list[Reading], until: Reading) -> bool:
    """Whether the two ends of a stretch are neighbours only because nothing was read between."""
    return len(progress) < 2 or progress[1] is until
