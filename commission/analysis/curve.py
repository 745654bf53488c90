"""A stroke as curves over time, for plots: travel, pressure and current against seconds since the command."""

import msgspec

from commission.analysis.observed import StrokeObserved, longest_step_ns
from commission.analysis.partial import PartialObserved
from commission.sheet import ROLES
from commission.sheet.decode import Reading

PLOTTED = ("travel", "cylinder_pressure", "cylinder_pressure_b", "motor_current")


class Curve(msgspec.Struct, frozen=True):
    """
    One point over time.

    Args:
        role: Which point.

        unit: Unit of `values`, SI; `1` for travel as a fraction.

        times_s: Seconds since the command, or since the first sample where there was none.

        values: As many as times.

        gaps_s: From and to, for each stretch without readings: no line is drawn across it.
    """

    role: str
    unit: str
    times_s: tuple[float, ...]
    values: tuple[float, ...]
    gaps_s: tuple[tuple[float, float], ...] = ()


def stroke_curves(observed: StrokeObserved | PartialObserved) -> tuple[Curve, ...]:
    """A curve for each plotted point that was read."""
    tracks = {role: observed.track(role) for role in PLOTTED}
    starts = [track[0].at_ns for track in tracks.values() if track]
    if not starts:
        return ()
    origin_ns = min(starts) if observed.command is None else observed.command.at_ns
    return tuple(_curve(role, track, origin_ns) for role, track in tracks.items() if track)


def _curve(role: str, track: tuple[Reading, ...], origin_ns: int) -> Curve:
    times = tuple((reading.at_ns - origin_ns) / 1e9 for reading in track)
    ordinary_ns = longest_step_ns(track)
    gaps = tuple(
        (times[i], times[i + 1]) for i in range(len(track) - 1) if track[i + 1].at_ns - track[i].at_ns > ordinary_ns
    )
    return Curve(role, ROLES[role].unit, times, tuple(reading.value for reading in track), gaps)
