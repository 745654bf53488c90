"""
Figures of a partial stroke, aligned on travel: dead time and its two parts, breakaway, time and pressure at thirds of
the way out and back, speed, turning point, return.

Pressure says what time hides: friction lowers it on the way out and raises it on the way back, a weak spring lowers
both, a needle neither. So each is taken at the same travel in both directions, and friction and spring are told apart.
"""

import math
from collections.abc import Iterator
from enum import StrEnum

import msgspec

from commission.analysis import edges, motion, turning
from commission.analysis.budget import Budget, Line, normal, student
from commission.analysis.durations import duration_figure, duration_lines
from commission.analysis.extremes import final_travel
from commission.analysis.intervals import Instant, half_width_ns
from commission.analysis.motion import fit_ramp
from commission.analysis.observed import limit_role
from commission.analysis.quantiles import two_sided_normal
from commission.analysis.transmitter import digit_step
from commission.figure import Figure
from commission.sample import Outcome, Silence, Written
from commission.sheet import End, Sheet
from commission.sheet.decode import Reading, Readings

METHOD = "partial.stroke/3"

_BEFORE_S = 5.0
_FIT_S = 0.6
_LEAST_READINGS = 3
_SPARSE_READINGS = 5
_SPEED_DOUBT = 0.3
"""Where the last bit was not read its speed is taken as known to 15 % either way (common practice, no source)."""

_LEAST_PRESSURE_STEP_PA = 50_000.0
_IN_MOTION = 8
_AROUND = 60
_NOTE_PRESSURE = "scatter and moment only; the transmitter's own error is not in it"
_NOTE_LOWEST = f"lowest reading at first motion; a dip between two samples may be deeper; {_NOTE_PRESSURE}"
_DIP_S = 0.5
"""Within this a valve that stuck has let the pressure come back (common practice, no source)."""


class PartialEnd(StrEnum):
    """How the watching of a partial stroke ended."""

    HOME = "back at its end"
    NOT_READY = "a check before it did not hold"
    NOT_SHOWN_SAFE = "the sum that would show it safe does not hold"
    REFUSED = "the unit refused the command"
    NO_MOTION = "nothing moved"
    NOT_HOME = "not back at its end in time: VALVE UNAVAILABLE, tell the controller now"


class Check(msgspec.Struct, frozen=True):
    """A check before the stroke: its name, what was seen in words, and whether it holds."""

    name: str
    words: str
    holds: bool

    def __str__(self) -> str:
        return f"{self.name}: {self.words}" + ("" if self.holds else ", NOT as it should be")


class PartialObserved(msgspec.Struct, frozen=True, kw_only=True):
    """
    One partial stroke as it was seen.

    Args:
        test: Identifies the test, as `L2 1`.

        start_end: The end it leaves and comes back to.

        target: How far it goes, as a fraction of travel.

        command: What started it, as the wire saw it; None where somebody else did.

        returned: The return command, where one was given from here.

        seen: Every sample and every silence, in order.

        ended: How the watching ended.

        why: More words about that.

        checks: What was looked at before it, each with its reading.

        timed_by: What timed it (safety rule R19).

        commanded_by: Who started it (safety rule R19).
    """

    test: str
    start_end: End
    target: float
    command: Written | None
    returned: Written | None
    seen: tuple[Readings | Silence, ...]
    ended: PartialEnd
    why: str = ""
    checks: tuple[Check, ...] = ()
    timed_by: str = "samples over the link"
    commanded_by: str = "laptop"

    def track(self, role: str) -> tuple[Reading, ...]:
        """All readings of one role, from a little before the command."""
        from_ns = -1 if self.command is None else self.command.at_ns - round(_BEFORE_S * 1e9)
        readings = (item.get(role) for item in self.seen if isinstance(item, Readings) and item.at_ns >= from_ns)
        return tuple(reading for reading in readings if reading is not None)

    def away(self) -> tuple[Reading, ...]:
        """How far the valve is from its start end, as a fraction of travel."""
        opens = self.start_end is End.OPEN
        return tuple(
            Reading(1.0 - r.value if opens else r.value, r.at_ns, r.half_width_ns) for r in self.track("travel")
        )


class NoPartialStroke(Exception):  # the trade's word, not a fault of the program
    """Nothing moved, or nothing was asked to: there is nothing to measure."""


def partial_figures(observed: PartialObserved, sheet: Sheet) -> tuple[Figure, ...]:
    """
    All figures of one partial stroke, time to target first where it was reached.

    Raises:
        NoPartialStroke: it was not begun, refused, or nothing moved.
    """
    if observed.ended not in (PartialEnd.HOME, PartialEnd.NOT_HOME):
        raise NoPartialStroke(f"{observed.test}: {observed.why or observed.ended.value}")
    seen = _Seen(observed, sheet)
    return tuple(seen.figures())


class _Seen:
    """The stroke cut at its turning point, and the moments of it."""

    def __init__(self, observed: PartialObserved, sheet: Sheet) -> None:
        self._scan_ns, self._sheet = round(sheet.link.scan_s * 1e9), sheet
        self._target = observed.target
        plan = sheet.partial_stroke
        self._third = (observed.target if plan is None else plan.target_pct / 100) / 3
        away = observed.away()
        if len(away) < 2 * _LEAST_READINGS:
            raise NoPartialStroke(f"{observed.test}: travel was not read")
        turn = max(range(len(away)), key=lambda i: away[i].value)
        self.out, self.back = away[: turn + 1], away[turn:]
        self._still = away[: max(_LEAST_READINGS, _before(away, observed))]
        self._noise = max(motion.LEAST_NOISE, edges.mean_and_noise(self._still)[1])
        self.pressure = observed.track("cylinder_pressure")
        top = away[turn].value - 3 * self._noise
        self._turn_ns = next(reading.at_ns for reading in self.out if reading.value >= top)
        command = observed.command
        received = command is not None and command.outcome is not Outcome.REFUSED
        self.t0 = Instant(command.at_ns, (2 * command.half_width_ns,)) if command is not None and received else None
        self.t3 = motion.motion_start(self.out, self._scan_ns, self._noise)
        self.home = edges.first_change(
            _after(observed.track(limit_role(observed.start_end)), self.back[0].at_ns), bool, self._scan_ns
        )
        if self.t3 is None:
            raise NoPartialStroke(f"{observed.test}: nothing moved")

    def figures(self) -> Iterator[Figure]:
        """Each figure that what was seen allows."""
        third = self._third  # of the sheet's target, so that a stroke returned on purpose is taken at the same places
        levels = {f"{100 * third * count:.0f}_pct": third * count for count in (1, 2)}
        out = {name: self._crossing(self.out, level) for name, level in levels.items()}
        back = {name: self._crossing(_downwards(self.back), -level) for name, level in levels.items()}
        target = self._reached()
        yield from _duration("time_to_target", self.t3, target)
        for name, crossing in out.items():
            yield from _duration(f"out_time_{name}", self.t3, crossing)
        yield from self._dead_times()
        yield from self._breakaway()
        whole = {f"{100 * self._target:.0f}_pct": target} if self._target > 2.5 * third else {}
        for name, crossing in (*out.items(), *whole.items()):
            yield from self._pressure_at(f"out_pressure_{name}", crossing, outward=True)
        for name, crossing in back.items():
            yield from self._pressure_at(f"back_pressure_{name}", crossing, outward=False)
        yield from self._friction_and_spring(list(out.values())[-1], list(back.values())[-1])
        first, second = out.values()
        yield from self._speed(first, second, third)
        yield self._turning_point()
        for name, crossing in back.items():
            yield from _duration(f"back_time_{name}", self._turned(), crossing)
        yield from _duration("return_time", self._turned(), self.home)
        yield self._final()

    def _dead_times(self) -> Iterator[Figure]:
        t2 = self._pressure_changes()
        yield from _duration("dead_time", self.t0, self.t3)
        yield from _duration("pressure_dead_time", self.t0, t2)
        yield from _duration("breakaway_delay", t2, self.t3)

    def _pressure_changes(self) -> Instant | None:
        if self.t0 is None or not self.pressure:
            return None
        before = [reading for reading in self.pressure if reading.at_ns < self.t0.earliest_ns]
        if len(before) < _LEAST_READINGS:
            return None
        level, noise = edges.mean_and_noise(before)
        least = max(5 * noise, _LEAST_PRESSURE_STEP_PA)
        since = tuple(before[-1:]) + tuple(r for r in self.pressure if r.at_ns >= self.t0.earliest_ns)
        return edges.departure(since, level, least, self._scan_ns)

    def _breakaway(self) -> Iterator[Figure]:
        """The lowest pressure before the valve gave way; a valve that sticks lets it fall far below that of motion."""
        if self.t3 is None or not self.pressure:
            return
        reach_ns = half_width_ns(self.t3.widths_ns, self.t3.noise_ns) + self._scan_ns
        after = [r for r in self.pressure if r.at_ns > self.t3.latest_ns + reach_ns][:_AROUND]
        if len(after) < _LEAST_READINGS:
            return
        ramp = fit_ramp(after[:_IN_MOTION])
        moved_ns = self.t3.at_ns + self._scan_ns // 2
        at_motion = ramp.mean_value + ramp.slope * (moved_ns - ramp.mean_at_ns)
        weight = 1 / ramp.count + (moved_ns - ramp.mean_at_ns) ** 2 / ramp.spread_ns2
        noise, freedom = edges.typical_scatter(after), max(1.0, len(after) / edges.MEDIAN_COSTS)
        lines = (
            student("scatter about the line", noise * math.sqrt(weight), freedom),
            normal("when motion began", abs(ramp.slope) * reach_ns / two_sided_normal()),
        )
        dipped = self._dip(moved_ns + reach_ns, noise)
        if dipped is not None:
            scatter_line = student("scatter of a reading", noise, freedom)
            yield Budget((scatter_line,)).figure("breakaway_pressure", dipped, "Pa", METHOD, note=_NOTE_LOWEST)
        else:
            note = f"from readings in motion, carried to its first moment; {_NOTE_PRESSURE}"
            yield Budget(lines).figure("breakaway_pressure", at_motion, "Pa", METHOD, note=note)

    def _dip(self, moving_ns: int, noise: float) -> float | None:
        """The lowest reading at first motion, where it is certainly below those half a second later; else None."""
        over_ns = moving_ns + round(_DIP_S * 1e9)
        lowest = min((r.value for r in self.pressure if r.at_ns <= over_ns), default=math.inf)
        later = [r for r in self.pressure if over_ns < r.at_ns <= moving_ns + 4 * _DIP_S * 1e9]
        return lowest if later and lowest < edges.mean_and_noise(later)[0] - 4 * noise else None

    def _crossing(self, track: tuple[Reading, ...], level: float) -> Instant | None:
        return edges.level_crossing(track, level, self._noise, self._scan_ns)

    def _reached(self) -> Instant | None:
        """
        When it came to its target; there it turns and noise decides, so the line through the readings before it tells.

        Between two readings it may have been there and back; later than the next one it was not there at all.
        """
        before = self.out[:-1]
        last = [r for r in before if self._target - turning.APPROACH <= r.value < self._target - 2 * self._noise]
        if len(last) < _LEAST_READINGS:
            last = [r for r in before[-_SPARSE_READINGS:] if r.value > 5 * self._noise]
        if len(last) < _LEAST_READINGS or len(self.back) < 2:
            return None
        ramp = fit_ramp(last)
        if ramp.slope <= 0:
            return None
        ahead_ns = (self._target - ramp.mean_value) / ramp.slope
        weight = 1 / ramp.count + ahead_ns**2 / ramp.spread_ns2
        noise_ns = max(ramp.residual, self._noise) / ramp.slope * math.sqrt(weight)
        at_ns = round(ramp.mean_at_ns + ahead_ns)
        if at_ns > self.back[1].at_ns + self._scan_ns + 3 * noise_ns:
            return None
        unseen_ns = round(_SPEED_DOUBT * max(0, at_ns - last[-1].at_ns))
        widths = (self._scan_ns, 2 * max(r.half_width_ns for r in last), unseen_ns)
        return Instant(at_ns - self._scan_ns // 2, widths, noise_ns)

    def _fitted(self, crossing: Instant | None, *, outward: bool) -> tuple[float, tuple[Line, ...]] | None:
        """Pressure at a moment and what is unsure of it, from a line through the readings around it."""
        if crossing is None:
            return None
        at_ns = crossing.at_ns + self._scan_ns // 2
        this_way = [r for r in self.pressure if (r.at_ns < self._turn_ns - self._scan_ns) is outward]
        near = [r for r in this_way if abs(r.at_ns - at_ns) <= _FIT_S * 1e9]
        if len(near) < _IN_MOTION:
            nearest = sorted(this_way, key=lambda r: abs(r.at_ns - at_ns))[:_IN_MOTION]
            near = sorted(nearest, key=lambda r: r.at_ns)
        if len(near) < _LEAST_READINGS:
            return None
        ramp = fit_ramp(near)
        weight = 1 / ramp.count + (at_ns - ramp.mean_at_ns) ** 2 / ramp.spread_ns2
        reach_ns = half_width_ns((*crossing.widths_ns, 2 * near[0].half_width_ns), crossing.noise_ns)
        lines = (
            student("scatter about the line", ramp.residual * math.sqrt(weight), ramp.count - 2),
            normal("when travel passed there", abs(ramp.slope) * reach_ns / two_sided_normal()),
        )
        return ramp.mean_value + ramp.slope * (at_ns - ramp.mean_at_ns), lines

    def _pressure_at(self, name: str, crossing: Instant | None, *, outward: bool) -> Iterator[Figure]:
        fitted = self._fitted(crossing, outward=outward)
        if fitted is not None:
            yield Budget(fitted[1]).figure(name, fitted[0], "Pa", METHOD, note=_NOTE_PRESSURE)

    def _friction_and_spring(self, out: Instant | None, back: Instant | None) -> Iterator[Figure]:
        """
        Half the difference and half the sum of the pressures at one travel: what friction and what the spring take.

        Source: F_friction = (p_open - p_close) A/2, F_spring = (p_open + p_close) A/2 (statics, textbook).
        """
        closing, opening = self._fitted(out, outward=True), self._fitted(back, outward=False)
        if closing is None or opening is None:
            return
        half = Budget(tuple(line.times(0.5) for line in (*closing[1], *opening[1])))
        difference, total = abs(opening[0] - closing[0]) / 2, (opening[0] + closing[0]) / 2
        yield half.figure("friction_pressure", difference, "Pa", METHOD, note=_NOTE_PRESSURE)
        yield half.figure("spring_pressure", total, "Pa", METHOD, note=_NOTE_PRESSURE)

    def _speed(self, first: Instant | None, second: Instant | None, way: float) -> Iterator[Figure]:
        if first is None or second is None or second.at_ns <= first.at_ns:
            return
        seconds = (second.at_ns - first.at_ns) / 1e9
        lines = (line.times(way / seconds**2) for line in duration_lines(first, second))
        yield Budget(tuple(lines)).figure("speed", way / seconds, "1/s", METHOD)

    def _turning_point(self) -> Figure:
        budget, near = turning.turning_budget(self.out, self.back, self._noise)
        farthest = self.out[-1].value
        return budget.figure("turning_point", farthest, "1", METHOD, note="farthest reading", largest_of=near)

    def _turned(self) -> Instant | None:
        """When it began its way back."""
        return turning.left_turn(self.out, self.back, self._noise, self._scan_ns)

    def _final(self) -> Figure:
        step = digit_step(self._sheet, "travel")
        found = final_travel(self.back, None, step, "as distance from the end it started at")
        return msgspec.structs.replace(found, method=METHOD)


def _before(away: tuple[Reading, ...], observed: PartialObserved) -> int:
    """How many readings came before the command; a tenth of all where somebody else gave it."""
    if observed.command is None:
        return len(away) // 10
    return sum(reading.at_ns < observed.command.at_ns for reading in away)


def _after(track: tuple[Reading, ...], at_ns: int) -> tuple[Reading, ...]:
    return tuple(reading for reading in track if reading.at_ns >= at_ns)


def _downwards(track: tuple[Reading, ...]) -> tuple[Reading, ...]:
    return tuple(Reading(-r.value, r.at_ns, r.half_width_ns) for r in track)


def _duration(name: str, start: Instant | None, end: Instant | None) -> Iterator[Figure]:
    if start is not None and end is not None:
        yield duration_figure(name, start, end, METHOD)
