"""
Synthetic strokes with known times: a closed-form travel curve, seen through polling, scan, noise and unsure clocks.

Nothing here is shared with the program: the curve is `s + bend·s·(1 − s)` of the motion's own time, whose inverse is a
quadratic, so the true time of each event is exact.
"""

import math
import random
from collections.abc import Iterator

import msgspec

from commission.sample import Outcome, Silence
from commission.sheet.decode import Reading, Readings


class Line(msgspec.Struct, frozen=True):
    """How the stroke is watched: seconds, and noise as a fraction of travel."""

    period_s: float = 0.05
    half_width_s: float = 0.005
    scan_s: float = 0.02
    noise: float = 0.0004
    jitter_s: float = 0.003


class Stroke(msgspec.Struct, frozen=True):
    """
    One closing or opening stroke; all times in seconds of unit time.

    `limit_band` is how far from its end a limit switch makes; `bend` > 0 starts fast and ends slowly.
    """

    command_s: float = 1.5
    dead_s: float = 0.4
    moving_s: float = 4.0
    bend: float = 0.15
    limit_band: float = 0.02
    opening: bool = True
    last_s: float = 9.0

    @property
    def start_s(self) -> float:
        """True first motion."""
        return self.command_s + self.dead_s

    @property
    def end_s(self) -> float:
        """True end of motion."""
        return self.start_s + self.moving_s

    def when(self, progress: float) -> float:
        """The true time at which the stroke has come so far."""
        if self.bend == 0:
            return self.start_s + progress * self.moving_s
        half = (1 + self.bend) / (2 * self.bend)
        share = half - math.copysign(math.sqrt(half * half - progress / self.bend), self.bend)
        return self.start_s + share * self.moving_s

    def progress(self, at_s: float) -> float:
        """How far it has come at this time."""
        share = min(1.0, max(0.0, (at_s - self.start_s) / self.moving_s))
        return share + self.bend * share * (1 - share)

    @property
    def left_s(self) -> float:
        """True time at which the start limit drops."""
        return self.when(self.limit_band)

    @property
    def home_s(self) -> float:
        """True time at which the end limit makes."""
        return self.when(1 - self.limit_band)

    def shown(self, at_s: float, noise: float) -> dict[str, float]:
        """What the unit's registers hold after a scan at this time."""
        progress = self.progress(at_s)
        travel = progress if self.opening else 1 - progress
        left, home = float(progress < self.limit_band), float(progress >= 1 - self.limit_band)
        begun = self.start_s - 0.6 * self.dead_s
        risen = min(1.0, max(0.0, (at_s - begun) / (self.start_s - begun)))
        return {
            "travel": travel + noise,
            "open_limit": home if self.opening else left,
            "closed_limit": left if self.opening else home,
            "cylinder_pressure": 25e5 + 28e5 * risen if self.opening else 53e5 - 28e5 * progress,
            "motor_running": float(self.opening and begun <= at_s < self.end_s + 0.5),
            "motor_current": 20.0 if self.opening and begun <= at_s < self.end_s + 0.5 else 0.0,
            "remote": 1.0,
            "automatic": 1.0,
            "esd_healthy": 1.0,
            "low_fluid": 0.0,
        }


def samples(stroke: Stroke, line: Line, random_: random.Random, *, from_s: float = 0.0) -> Iterator[Readings]:
    """
    The readings of a stroke, in order.

    The unit scans at its own beat; each poll reads what the last scan saw; the time that is noted lies within the
    half-width of the true one, anywhere in it.
    """
    scan_beat = random_.random() * line.scan_s
    at_s = from_s + random_.random() * line.period_s
    number = 0
    while at_s < stroke.last_s:
        number += 1
        read_s = at_s + random_.uniform(-line.jitter_s, line.jitter_s)
        seen_s = read_s
        if line.scan_s > 0:
            seen_s = math.floor((read_s - scan_beat) / line.scan_s) * line.scan_s + scan_beat
        noted_ns = round((read_s + random_.uniform(-line.half_width_s, line.half_width_s)) * 1e9)
        half_ns = round(line.half_width_s * 1e9)
        shown = stroke.shown(seen_s, random_.gauss(0, line.noise) if line.noise else 0.0)
        by_role = {role: Reading(value, noted_ns, half_ns) for role, value in shown.items()}
        yield Readings(number, noted_ns, by_role)
        at_s += line.period_s


def with_gap(seen: list[Readings], from_s: float, to_s: float) -> list[Readings | Silence]:
    """The same readings with a silence in place of those between two times."""
    kept: list[Readings | Silence] = [item for item in seen if item.at_ns < from_s * 1e9]
    after = [item for item in seen if item.at_ns > to_s * 1e9]
    since_ns = kept[-1].at_ns if kept else 0
    kept.append(Silence(len(kept) + 1, since_ns, round(to_s * 1e9), "no answer in 0.3 s"))
    return [*kept, *after]


def command_time(stroke: Stroke, line: Line, random_: random.Random) -> tuple[int, int, Outcome]:
    """When the command is noted to have reached the unit, with its half-width, and what came back."""
    noted_s = stroke.command_s + random_.uniform(-line.half_width_s, line.half_width_s)
    return round(noted_s * 1e9), round(line.half_width_s * 1e9), Outcome.ANSWERED
