"""
Do the 95 % intervals of a partial stroke hold the truth 95 times in a hundred?

As `test_timing_coverage`: synthetic strokes, seeds fixed before the code, the true moments and pressures by closed
form. The pressure falls to that of first motion, is a straight function of travel on the way out and another on the
way back, and travel goes at one speed each way with a short bend, as a restricted path makes it.
"""

import math
import random
from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property

import msgspec
import pytest

from commission.analysis.partial import PartialEnd, PartialObserved, partial_figures
from commission.sample import Outcome, Written
from commission.sheet import End
from commission.sheet.decode import Reading, Readings
from tests.analysis.coverage import CASES, FIRST_SEED, Case, assert_held
from tests.analysis.seen import SHEET
from tests.procedures.strokes import Line


@dataclass(frozen=True, kw_only=True)
class Partial:
    """
    One partial stroke: seconds of unit time, shares of travel, bar.

    Args:
        command_s: When the command reached the unit.

        falls_s: From there to the first change of pressure.

        breaks_s: From there to first motion.

        out_s: From there to the turning point.

        turn: How far it goes.

        dwell_s: How long it stands there.

        back_s: From there to its end.

        bend: How much faster each way begins than it goes on.

        dip_bar: How far below that of motion the pressure falls before the valve gives way.
    """

    command_s: float
    falls_s: float
    breaks_s: float
    out_s: float
    turn: float
    dwell_s: float
    back_s: float
    bend: float
    dip_bar: float = 0.0

    @cached_property
    def moves_s(self) -> float:
        """First motion."""
        return self.command_s + self.falls_s + self.breaks_s

    @cached_property
    def turned_s(self) -> tuple[float, float]:
        """From when to when it stands at its turning point."""
        return self.moves_s + self.out_s, self.moves_s + self.out_s + self.dwell_s

    @cached_property
    def home_s(self) -> float:
        """When it is back."""
        return self.turned_s[1] + self.back_s

    def share(self, at: float) -> float:
        """Of the way, at a share of its time."""
        return at + self.bend * at * (1 - at)

    def at(self, share: float) -> float:
        """The share of the time at which a share of the way is done."""
        half = (1 + self.bend) / (2 * self.bend)
        return half - math.copysign(math.sqrt(half * half - share / self.bend), self.bend)

    def away(self, at_s: float) -> float:
        """How far it is from its end."""
        if at_s <= self.moves_s or at_s >= self.home_s:
            return 0.0
        if at_s < self.turned_s[0]:
            return self.turn * self.share((at_s - self.moves_s) / self.out_s)
        if at_s <= self.turned_s[1]:
            return self.turn
        return self.turn * (1 - self.share((at_s - self.turned_s[1]) / self.back_s))

    def out_at(self, away: float) -> float:
        """When it passes there on its way out."""
        return self.moves_s + self.out_s * self.at(away / self.turn)

    def bar(self, at_s: float) -> float:
        """Cylinder pressure."""
        falls_s = self.command_s + self.falls_s
        if at_s < falls_s:
            return 120.0
        if at_s < self.moves_s:
            return 120.0 - (120.0 - 53.5 + self.dip_bar) * (at_s - falls_s) / self.breaks_s
        if at_s < self.turned_s[1]:
            return self.out_bar(self.away(at_s)) - self.dip_bar * max(0.0, 1 - (at_s - self.moves_s) / 0.3)
        if at_s < self.home_s:
            return self.back_bar(self.away(at_s))
        return min(120.0, self.back_bar(0.0) + 20.0 * (at_s - self.home_s))

    @staticmethod
    def out_bar(away: float) -> float:
        """Pressure on the way out."""
        return 53.5 - 50.0 * away

    @staticmethod
    def back_bar(away: float) -> float:
        """Pressure on the way back."""
        return 76.0 - 20.0 * away


LIMIT = 0.01
"""How far from its end the limit switch makes."""


def stroke_of(random_: random.Random, *, dips: bool) -> Partial:
    """One stroke: 15 % in ten seconds out, some 28 s back."""
    return Partial(
        command_s=2.5 + random_.random(),
        falls_s=random_.uniform(0.05, 0.3),
        breaks_s=random_.uniform(0.6, 1.2),
        out_s=random_.uniform(7, 12),
        turn=random_.uniform(0.1505, 0.153),
        dwell_s=random_.choice((0.0, random_.uniform(0.2, 1.0))),
        back_s=random_.uniform(15, 28),
        bend=random_.uniform(0.02, 0.15),
        dip_bar=random_.uniform(5, 12) if dips else 0.0,
    )


def observed(stroke: Partial, line: Line, random_: random.Random) -> tuple[PartialObserved, float]:
    """As this line sees it, and the lowest true pressure (bar) that it read up to half a second after first motion."""
    lowest, seen, at_s, number, beat = math.inf, [], random_.random() * line.period_s, 0, random_.random() * line.scan_s
    half_ns = round(line.half_width_s * 1e9)
    while at_s < stroke.home_s + 3:
        number += 1
        read_s = at_s + random_.uniform(-line.jitter_s, line.jitter_s)
        scanned_s = math.floor((read_s - beat) / line.scan_s) * line.scan_s + beat
        noted_ns = round((read_s + random_.uniform(-line.half_width_s, line.half_width_s)) * 1e9)
        away = stroke.away(scanned_s)
        lowest = min(lowest, stroke.bar(scanned_s)) if read_s < stroke.moves_s + 0.5 else lowest
        shown = {
            "travel": 1 - away + random_.gauss(0, line.noise),
            "open_limit": float(away < LIMIT),
            "cylinder_pressure": (stroke.bar(scanned_s) + random_.gauss(0, 0.08)) * 1e5,
        }
        seen.append(Readings(number, noted_ns, {role: Reading(v, noted_ns, half_ns) for role, v in shown.items()}))
        at_s += line.period_s
    noted_s = stroke.command_s + random_.uniform(-line.half_width_s, line.half_width_s)
    made = PartialObserved(
        test="L2 1",
        start_end=End.OPEN,
        target=0.15,
        command=Written(round(noted_s * 1e9), half_ns, Outcome.ANSWERED),
        returned=None,
        seen=tuple(seen),
        ended=PartialEnd.HOME,
    )
    return made, lowest


def truth_of(stroke: Partial) -> dict[str, float]:
    """Every figure in SI units."""
    back = {
        away: stroke.turned_s[1] + stroke.back_s * stroke.at(1 - away / stroke.turn) for away in (LIMIT, 0.05, 0.10)
    }
    places = {"5": 0.05, "10": 0.10, "15": 0.15}
    return {
        "time_to_target": stroke.out_at(0.15) - stroke.moves_s,
        "dead_time": stroke.falls_s + stroke.breaks_s,
        "pressure_dead_time": stroke.falls_s,
        "breakaway_delay": stroke.breaks_s,
        "breakaway_pressure": 53.5e5,
        **{f"out_pressure_{name}_pct": stroke.out_bar(away) * 1e5 for name, away in places.items()},
        **{f"back_pressure_{name}_pct": stroke.back_bar(places[name]) * 1e5 for name in ("5", "10")},
        "friction_pressure": (stroke.back_bar(0.1) - stroke.out_bar(0.1)) / 2 * 1e5,
        "spring_pressure": (stroke.back_bar(0.1) + stroke.out_bar(0.1)) / 2 * 1e5,
        "speed": 0.05 / (stroke.out_at(0.10) - stroke.out_at(0.05)),
        "turning_point": stroke.turn,
        **{f"out_time_{name}_pct": stroke.out_at(places[name]) - stroke.moves_s for name in ("5", "10")},
        **{f"back_time_{name}_pct": back[places[name]] - stroke.turned_s[1] for name in ("5", "10")},
        "return_time": back[LIMIT] - stroke.turned_s[1],
        "final_travel": 0.0,
    }


FAST = Line(0.08, 0.004, 0.02, 0.0003, 0.002)
SLOW = Line(0.2, 0.01, 0.05, 0.0004, 0.01)


def cases_of(line: Line, count: int, *, dips: bool) -> dict[str, list[Case]]:
    """Every figure's error and half-width by name."""
    sheet = msgspec.structs.replace(SHEET, link=msgspec.structs.replace(SHEET.link, scan_s=line.scan_s))
    found: dict[str, list[Case]] = defaultdict(list)
    for seed in range(count):
        random_ = random.Random(FIRST_SEED + seed)
        stroke = stroke_of(random_, dips=dips)
        truth = truth_of(stroke)
        seen, lowest = observed(stroke, line, random_)
        truth["breakaway_pressure"] = lowest * 1e5 if dips else 53.5e5
        for figure in partial_figures(seen, sheet):
            assert figure.budget, figure.name
            found[figure.name].append((figure.unrounded - truth[figure.name], float(figure.expanded_uncertainty)))
    return found


WIDEST = 1.35
"""On a slow line first motion has few readings, and the last bit before the target was not read (1.30 measured)."""

LINES = [
    pytest.param(FAST, 40, False, id="80 ms a cycle"),
    pytest.param(FAST, CASES, False, id="80 ms a cycle, all", marks=pytest.mark.deep),
    pytest.param(SLOW, CASES, False, id="200 ms a cycle, slow scan, all", marks=pytest.mark.deep),
    pytest.param(SLOW, CASES, True, id="200 ms a cycle, sticking, all", marks=pytest.mark.deep),
]


@pytest.mark.parametrize(("line", "count", "dips"), LINES)
def test_figures_of_a_partial_stroke_hold_the_truth(line: Line, count: int, dips: bool) -> None:  # noqa: FBT001  # a case
    """Dead time and its parts, breakaway, pressures, speed, turning point, times out and back, end."""
    found = cases_of(line, count, dips=dips)
    for name in truth_of(stroke_of(random.Random(1), dips=dips)):
        assert len(found[name]) >= 0.9 * count, name
        try:
            assert_held(found[name], widest=WIDEST)
        except AssertionError as error:
            raise AssertionError(f"{name}: {error}") from error
