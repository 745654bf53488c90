"""
The ten times of a stroke, t0 … t9, as far as the readings show them.

t0 command at the unit · t1 the unit shows it received (no point shows it: never there) · t2 pressure starts to change ·
t3 first motion · t4 start limit drops · t5 a tenth, half and nine tenths of travel · t6 end limit makes · t7 motion
ends · t8 motor stops · t9 pressure steady.
"""

import msgspec

from commission.analysis import edges, motion
from commission.analysis.intervals import Instant
from commission.analysis.observed import StrokeObserved, limit_role
from commission.sample import Outcome
from commission.sheet import Sheet
from commission.sheet.decode import Reading

LEAST_PRESSURE_STEP_PA = 50_000.0
"""Half a bar: less is not called a change of pressure (common practice, no source)."""

CROSSINGS = (0.1, 0.5, 0.9)

_LEAST_BEFORE = 3
_GAP_HOME = "between last seen moving and first seen home"
_GAP_LEFT = "between last seen at the start end and first seen off it"


class Moments(msgspec.Struct, frozen=True, kw_only=True):
    """
    The times of one stroke; None for what was not seen.

    `motor_on` is when the motor started; `end_limit_makings` counts how often the end limit made, because a loose one
    chatters.
    """

    t0: Instant | None
    t2: Instant | None
    t3: Instant | None
    t4: Instant | None
    t5: tuple[Instant | None, ...]
    t6: Instant | None
    t7: Instant | None
    t8: Instant | None
    t9: Instant | None
    motor_on: Instant | None
    end_limit_makings: int


def moments(observed: StrokeObserved, sheet: Sheet) -> Moments:
    """The times of a stroke; nothing is raised for what was not seen."""
    scan_ns = round(sheet.link.scan_s * 1e9)
    progress = observed.progress()
    end_limit = observed.track(limit_role(observed.direction))
    pressure = observed.track("cylinder_pressure")
    motor = observed.track("motor_running")
    return Moments(
        t0=_command_received(observed),
        t2=_pressure_changes(pressure, _command_received(observed), scan_ns),
        t3=motion.motion_start(progress, scan_ns),
        t4=edges.first_change(observed.track(limit_role(observed.start_end)), _is_off, scan_ns, _GAP_LEFT),
        t5=_crossings(progress, scan_ns),
        t6=edges.first_change(end_limit, bool, scan_ns, _GAP_HOME),
        t7=motion.motion_end(progress, scan_ns),
        t8=edges.first_change(motor, _is_off, scan_ns, "between last seen running and first seen stopped"),
        t9=edges.settled(pressure, LEAST_PRESSURE_STEP_PA, scan_ns),
        motor_on=edges.first_change(motor, bool, scan_ns, "between last seen stopped and first seen running"),
        end_limit_makings=edges.makings(end_limit),
    )


def _is_off(value: float) -> bool:
    return not value


def _command_received(observed: StrokeObserved) -> Instant | None:
    command = observed.command
    if command is None or command.outcome is Outcome.REFUSED:
        return None
    note = "the command was not answered" if command.outcome is Outcome.UNANSWERED else ""
    return Instant(command.at_ns, (2 * command.half_width_ns,), note=note, sources=("when the command arrived",))


def _pressure_changes(pressure: tuple[Reading, ...], t0: Instant | None, scan_ns: int) -> Instant | None:
    """The first departure from the level before the command; the first readings are that level where nobody saw one."""
    if not pressure:
        return None
    before = [reading for reading in pressure if t0 is not None and reading.at_ns < t0.earliest_ns]
    if len(before) < _LEAST_BEFORE:
        before = list(pressure[: min(10, max(_LEAST_BEFORE, len(pressure) // 10))])
    level, noise = edges.mean_and_noise(before)
    least = max(5 * noise, LEAST_PRESSURE_STEP_PA)
    return edges.departure(pressure, level, least, scan_ns, "pressure, across a gap")


def _crossings(progress: tuple[Reading, ...], scan_ns: int) -> tuple[Instant | None, ...]:
    """Crossings of a tenth, half and nine tenths of the way between the levels at rest before and after."""
    if not progress:
        return (None,) * len(CROSSINGS)
    noise = motion.travel_noise(progress)
    start = motion.rest(progress, noise).level
    way = -motion.rest(motion.run_backwards(progress), noise).level - start
    if way < 0.5:  # no full stroke: its tenths would be tenths of nothing
        return (None,) * len(CROSSINGS)
    return tuple(edges.level_crossing(progress, start + share * way, noise, scan_ns) for share in CROSSINGS)
